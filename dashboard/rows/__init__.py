"""The rows of a front: plain questions to them, and the brief that they answer in a line."""
