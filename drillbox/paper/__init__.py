"""Paper: sheets, engraving and exchange files, out and in. It knows rhythm only."""
