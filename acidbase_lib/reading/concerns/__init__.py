"""What of the findings is a concern, and the sentences that say so."""
