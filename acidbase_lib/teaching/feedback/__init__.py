"""What is said about an answer: right or not and why, whose idea it fits, hints, reasons."""
