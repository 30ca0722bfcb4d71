"""An hour that changes: decisions at a bedside, the minutes between them, and a look back."""
