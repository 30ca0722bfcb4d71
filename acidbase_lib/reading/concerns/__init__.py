"""What is a concern: the alarms of a sample, and the sentences that say so."""
