"""The pages live: one small server for the barn and the house, private by default."""
