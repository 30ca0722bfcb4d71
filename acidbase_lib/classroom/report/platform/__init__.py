"""What a learning platform takes back: its grade table, its zip of feedback."""
