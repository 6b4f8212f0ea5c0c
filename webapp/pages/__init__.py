"""Pages: a view parses, calls one verb, and renders or redirects; `addresses` names them all."""
