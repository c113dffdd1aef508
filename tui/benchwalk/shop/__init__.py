"""Views across and into jobs: the pages of a job as the shop reads them."""
