"""What all tests share."""

import sys

import pytest


@pytest.fixture(autouse=True)
def the_main_module_stays():
    """Streamlit's test driver puts a page in its place, which every process started later would run."""
    main = sys.modules["__main__"]
    yield
    sys.modules["__main__"] = main
