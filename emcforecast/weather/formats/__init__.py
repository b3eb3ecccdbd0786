"""Weather file formats, one module each, and how each is recognised."""
