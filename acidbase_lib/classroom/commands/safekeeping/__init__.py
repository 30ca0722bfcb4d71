"""Commands that keep a class: back up, put back, look over, erase one person."""
