"""The ear: a take measured from sound or from a pad. It knows rhythm only."""
