"""Results made readable: tables, figures, and the documents written from them."""
