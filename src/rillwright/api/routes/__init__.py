"""Routes by subject; each takes the request apart, calls a job or the store, and gives the answer its shape."""
