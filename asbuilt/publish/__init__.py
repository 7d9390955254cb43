"""A records repository → published sites. Start reading at build.py."""
