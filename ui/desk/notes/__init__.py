"""The notebook's tabs: write down, look up, plan a week, what was learned, the shelf, copies."""
