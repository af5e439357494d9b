"""Jobs: work that outlasts a request."""
