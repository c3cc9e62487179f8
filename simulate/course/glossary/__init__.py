"""The words of the trade: one list, a page of it, and a note at the first use of each in a lesson."""
