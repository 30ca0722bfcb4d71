"""The one door to nbgrader: everything that leans on more than its public interface stands here."""
