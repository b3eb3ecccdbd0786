"""Open weather archives, one module each."""
