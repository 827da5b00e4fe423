"""What the pages share: the recipe in hand, the answers about it, and how they are drawn."""
