"""The planner: what counts as success, and the route that reaches it."""
