"""One pure function for each engineering rule; floats and numpy arrays alike."""
