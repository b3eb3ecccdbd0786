"""The pages by what they are for, a module each."""
