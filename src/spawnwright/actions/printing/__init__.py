"""Paper: labels, shelf list, sheets and the calendar feed."""
