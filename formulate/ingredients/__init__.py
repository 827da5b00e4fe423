"""Ingredients: their composition, readings, deliveries and stock, and what a mix is judged by."""

import lazy_loader

__getattr__, __dir__, __all__ = lazy_loader.attach_stub(__name__, __file__)
