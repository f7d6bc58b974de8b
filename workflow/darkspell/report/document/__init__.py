"""The document tree and its three writers: HTML, PDF and DOCX."""
