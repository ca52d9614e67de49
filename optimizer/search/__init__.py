"""Branch and bound: plans, lower bounds, branching, the node queue, the cache, what earlier proofs fathom."""
