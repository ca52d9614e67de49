"""What the limits leave of the catalogue, as arrays: converters, banks, strings, sizes of the array."""
