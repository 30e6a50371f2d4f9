"""Heat treatment: holding times, lethality, what the law asks for, and how good a recorder trace is."""
