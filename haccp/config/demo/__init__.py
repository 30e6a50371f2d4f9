"""A dairy of our own invention with four weeks of history, written through the same actions that people use."""
