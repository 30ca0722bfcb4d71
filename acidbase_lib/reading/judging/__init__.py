"""Each value judged: by its limits and edges, and what a vein says of the artery."""
