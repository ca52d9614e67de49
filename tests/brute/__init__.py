"""An independent brute force: the engineering rules again, in plain loops, nothing shared with the product.

reading.py and parts.py read the files, loads.py and rules.py apply the limits that limits.py names, plans.py gives
loads starters and their water tanks, arrays.py wires panels, money.py buys, force.py enumerates every node.
instances.py (with draw_*.py) writes small random catalogues and jobs; by_hand.py is one whose figures are worked by
hand. Standard library only.
"""
