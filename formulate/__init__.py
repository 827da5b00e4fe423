"""Balances frozen dessert mixes: weights, freezing curve and serving temperature.

>>> import formulate as fm
>>> recipe = fm.load("damson_sorbet")  # a file, an example, or a recipe of the notebook
>>> result = fm.balance(recipe.with_reading("damson", 12.5))
>>> bool(result.targets["met"].all())
True

``result.weights``, ``result.targets``, ``result.properties`` and ``result.curve`` are tables of pandas.
Nothing is imported before it is asked for: ``import formulate`` alone loads neither numpy nor a solver.
"""

import lazy_loader

__getattr__, __dir__, __all__ = lazy_loader.attach_stub(__name__, __file__)
