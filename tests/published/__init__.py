"""Outside checks, a module a source: published answers in their own units, reproduced through the product's rules.

Where a figure is quoted from memory of its source, the module says so: confirm it before relying on it. Rows of a
source that no rule of the product uses yet (conductor sizes, overload settings) have no check here.
"""
