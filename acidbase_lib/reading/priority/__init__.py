"""What comes first: how urgent a reading is, and the first action in a bedside scene."""
