"""How a wall is judged and chosen. Imports materials; knows no screen."""
