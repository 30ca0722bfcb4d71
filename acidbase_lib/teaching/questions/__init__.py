"""What is asked and the rule that marks it: fields, exercises, question files, typed answers."""
