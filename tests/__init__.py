"""The tests of borewatt: one import root, so that a helper is one module however it is asked for."""
