"""What a cheese and its brine are made of, and what that lets grow."""
