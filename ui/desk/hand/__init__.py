"""The recipe in hand, its answers, files, link and units: what every page shares between two runs."""
