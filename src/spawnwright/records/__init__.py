"""What things are: frozen dataclasses that models, store and actions share."""
