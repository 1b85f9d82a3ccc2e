"""Results in words, on the road that the sheet takes too: bench and day, runs, circuits, engine; doubts last."""
