"""What a wall can be made of: materials, products, supplier price lists. Imports nothing of the project."""
