"""Questions that somebody wrote, checked: can the numbers exist, is the key right?"""
