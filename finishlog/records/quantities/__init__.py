"""Requests and answers of the arithmetic: frozen values, quantities as Fractions.

Every name carries its unit: ft, ft2, in, yd3, lb, gal, mil; percent runs from 0 to 100, a chance from 0 to 1,
money is in the shop's dollars. JSON is made at the edge.
One module per calculation, so that a command imports only its own.
"""
