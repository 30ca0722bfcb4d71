"""What goes back: a page a learner, the class report, the grade file."""
