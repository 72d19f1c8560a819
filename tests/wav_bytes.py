"""WAV files written byte by byte, right ones and wrong ones."""

from __future__ import annotations

import struct


def chunk(name: bytes, data: bytes) -> bytes:
    """Return one chunk, padded to an even length."""
    return name + struct.pack("<I", len(data)) + data + b"\0" * (len(data) % 2)


def riff(*chunks: bytes, kind: bytes = b"RIFF") -> bytes:
    """Return a WAV of chunks."""
    body = b"".join(chunks)
    return kind + struct.pack("<I", len(body) + 4) + b"WAVE" + body


def fmt(
    tag: int = 1, channels: int = 1, rate: int = 8000, bits: int = 16, frame: int | None = None
) -> bytes:
    """Return a format chunk."""
    size = channels * bits // 8 if frame is None else frame
    return chunk(b"fmt ", struct.pack("<HHIIHH", tag, channels, rate, rate * size, size, bits))
