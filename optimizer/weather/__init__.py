"""A weather file: whole years hour by hour, read, checked and turned into light on a plane; and a cache of that."""
