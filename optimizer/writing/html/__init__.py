"""The answer as one page of HTML to print or to hand over."""
