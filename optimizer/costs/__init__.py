"""What sellers ask at the least: prices, freight and tax as lower bounds, and the cheapest lines of one part."""
