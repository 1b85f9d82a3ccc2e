"""One module per generated page; each has `page`, which takes the root of the repository and returns the text."""
