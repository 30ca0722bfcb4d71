"""What goes back: pages, class report, grades."""
