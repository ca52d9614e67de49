"""What is said, without a form: rows and sentences that text and pages lay out alike."""
