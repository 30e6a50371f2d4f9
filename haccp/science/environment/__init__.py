"""Swabs of the rooms and equipment: which are due by a rota, and what a find of Listeria leads to."""
