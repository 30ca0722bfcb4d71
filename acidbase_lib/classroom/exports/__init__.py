"""The course on paper and as quizzes for other platforms."""
