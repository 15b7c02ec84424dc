"""What travels over HTTP. One definition of each message: bodies are read by it, and the OpenAPI document is made of it."""
