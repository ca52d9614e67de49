"""A bundle: its parts and wiring, its order and needs, bundle files and kept answers."""
