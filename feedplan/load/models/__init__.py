"""The shapes of the files, and the JSON Schema made from them."""
