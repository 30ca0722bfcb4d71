"""What opens, carries and ends a lesson: guesses, earlier questions, worked steps, twins."""
