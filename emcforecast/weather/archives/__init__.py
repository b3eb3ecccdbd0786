"""Open weather archives: one record and one module each, pure and offline."""
