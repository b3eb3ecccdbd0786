"""What can spoil drying wood, one risk a module."""
