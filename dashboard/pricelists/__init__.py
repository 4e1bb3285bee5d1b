"""Price lists and declarations that readers bring."""
