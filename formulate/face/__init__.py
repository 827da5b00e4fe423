"""What Python, the commands and the pages ask with: loading, questions, tables, pictures, papers."""

import lazy_loader

__getattr__, __dir__, __all__ = lazy_loader.attach_stub(__name__, __file__)
