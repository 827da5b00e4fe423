"""Balances frozen dessert mixes: weights, freezing curve and serving temperature.

The public rooms are the modules; start with :mod:`formulate.balance` and :mod:`formulate.recipe`.
Nothing is imported here, so that a command that does not solve starts quickly.
"""
