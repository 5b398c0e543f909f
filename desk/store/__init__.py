"""The film file: load, save, migrate, recover."""
