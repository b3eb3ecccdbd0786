"""Weather series: the contract, files, quality, archives."""
