"""The web application: thin routes over the jobs and the store, and the guard before them."""
