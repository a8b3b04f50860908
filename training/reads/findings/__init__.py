"""What the record lacks: the kinds of finding by what they are about. `stored` reads them as they are kept, or computes them."""
