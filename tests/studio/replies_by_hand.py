"""Replies of the studio's tests, made by hand, line by line."""

from __future__ import annotations

import hashlib
import json
from typing import Any


def sealed(*lines: dict[str, Any], **end: Any) -> bytes:
    """Return lines as a file whose end line fits them, or says something else where it is given."""
    body = b"".join(json.dumps(line).encode() + b"\n" for line in lines)
    fits = {"lines": len(lines) - 1, "sha256": hashlib.sha256(body).hexdigest()}
    return body + json.dumps({"kind": "end", **fits, **end}).encode() + b"\n"
