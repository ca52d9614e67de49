"""What is wanted: the job, its schema, its checks, its reader and its template; readings for a measured load."""
