"""Growth of pathogens by published models: advice beside a limit, never in its place."""
