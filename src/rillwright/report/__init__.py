"""Results as drawings, pages and tables: result in, text or bytes out; writes no file."""
