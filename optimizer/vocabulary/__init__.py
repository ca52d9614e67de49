"""What every part of the tool speaks of: problems and their kinds, units, defaults, supplies, exceptions."""
