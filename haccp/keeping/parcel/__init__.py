"""One premises taken away whole, and brought in elsewhere with its ledger intact."""
