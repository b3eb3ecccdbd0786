"""Storage: from outdoor air to the air at the wood."""
