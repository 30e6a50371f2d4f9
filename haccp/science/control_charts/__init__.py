"""Control charts: whether a measured quantity still varies as it used to, and whether that fits its limit."""
