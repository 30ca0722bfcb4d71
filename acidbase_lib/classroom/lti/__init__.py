"""A school's learning platform by LTI 1.3: sign-in, class list, grades back."""
