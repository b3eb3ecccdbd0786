"""Pictures: results in, matplotlib figures out."""
