"""What a cook types: cells and entries, read as numbers or answered with a sentence."""
