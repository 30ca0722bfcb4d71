"""What a wrong idea answers: each idea a small program, and the catalog of them."""
