"""The front: the plot, the table beside it and the words about the search."""
