"""Whether an instrument can be relied on: fixed points, comparison with a reference, electrodes, drift."""
