"""Pages: answers put into HTML, whole in one file or part by part for a server.

- `place.place_page` and `yard.yard_page` return a whole page as one string that needs
  no other file and no network.
- `place.place_sections` and `yard.stack_section` return the parts as `Section` values;
  `Section.html()` renders one, so that a server shows the very same parts.
- `sections` holds the functions answer -> `Section`; templates/ their words and order;
  static/page.css the look. `look.stylesheet()` is the whole style, colours included.

Nothing is worked out or worded here: an answer says it, or it is not on the page.
"""
