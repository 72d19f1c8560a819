"""What every room may use: the clock, moments and practice days, JSON Lines, wording, text charts."""
