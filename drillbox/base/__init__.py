"""What every room may use: now and practice days, the clock, JSON Lines, wording, text charts."""
