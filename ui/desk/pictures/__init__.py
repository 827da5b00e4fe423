"""What is drawn of an answer: plain words as safe HTML, tables, strips, bars, colours."""
