(item) @fold
