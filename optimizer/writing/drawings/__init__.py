"""The drawings of the page: small functions that return SVG."""
