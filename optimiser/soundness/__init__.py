"""Whether a wall is sound besides warm: it stays dry, stands, and can be filled. Batches in, margins out."""
