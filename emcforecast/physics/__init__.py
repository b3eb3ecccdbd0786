"""Physics on plain arrays: moist air, sorption, air nodes, diffusion."""
