"""Static pages, bench cards and the site with the kernel in the browser."""
