"""Reading by program: keys that a lead makes and revokes, and what can be asked with one."""
