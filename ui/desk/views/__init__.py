"""Parts of a page that stand on their own: head, verdict, first screen, times, label, sheet."""
