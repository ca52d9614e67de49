"""Why: every figure of an explanation comes from solving again, and is right to the cent."""
