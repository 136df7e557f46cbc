"""Calculations that need no log: yards, dose, film, weather."""
