"""One question a module: pick, budget staircase, refresh, price changes, least regret, measured load."""
