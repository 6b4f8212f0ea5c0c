"""Forms: the fields of each page, named as the domain names them."""
