"""What a cook asks of a recipe: balance, check, spans, ladders, pots, trade-offs, bases."""

import lazy_loader

__getattr__, __dir__, __all__ = lazy_loader.attach_stub(__name__, __file__)
