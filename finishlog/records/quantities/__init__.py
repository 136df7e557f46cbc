"""What the arithmetic is asked and what it answers: frozen values, quantities as Fractions.

Every name carries its unit: ft, ft2, in, yd3, lb, gal, mil; percent runs from 0 to 100, a chance from 0 to 1,
money is in the shop's dollars. JSON is made at the edge.
A module for each sum, so that a command makes the values of its own sum alone.
"""
