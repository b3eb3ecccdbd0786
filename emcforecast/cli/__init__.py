"""Commands: one module each; parse, call, print."""
