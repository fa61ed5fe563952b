"""The record book: what is entered at the bench, and what its pages ask."""
