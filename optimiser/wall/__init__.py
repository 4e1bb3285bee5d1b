"""One wall and n walls: build-up, layers, products, amounts, batches; where things are in it."""
