"""Sums of the make: set time, doses, rennet, press, salt and yield."""
