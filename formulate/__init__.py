"""Balances frozen dessert mixes: weights, freezing curve and serving temperature.

The public rooms are the modules; start with :mod:`formulate.answers.balancing` and
:mod:`formulate.recipes.model`.
Nothing is imported here, so that a command that does not solve starts quickly.
"""
