"""An independent brute force: the engineering rules again, in plain loops, nothing shared with the product.

reading.py reads the files, rules.py applies the limits, money.py buys, force.py enumerates every node,
instances.py writes small random catalogues and jobs. Standard library only.
"""
