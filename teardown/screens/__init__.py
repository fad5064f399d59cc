"""The Textual application: it shows what the rules decide, and asks for entries. It knows no safety rule."""
