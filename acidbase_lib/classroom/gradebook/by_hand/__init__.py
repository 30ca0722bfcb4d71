"""What a person gives, and what stands in each cell of everyone: points and comments."""
