"""What every room may use: now and practice days, the clock, JSON Lines, MIDI events, wording, text charts."""
