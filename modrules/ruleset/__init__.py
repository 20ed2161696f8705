"""The format: reading with places, models, building on, and static checks."""
