"""Sound at the rider's ear, filters and boxes: numbers in, numbers out, no catalog types."""
