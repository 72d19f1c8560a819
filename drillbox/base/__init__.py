"""What every room may use: days, clock, JSON Lines, MIDI events, wording, text charts."""
