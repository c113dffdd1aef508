"""Reports of a job: a fair copy for the owner and the whole record for the shop, as HTML, Markdown or text."""
