"""Sampling plans for microbiology: their verdicts, and what they can and cannot detect."""
