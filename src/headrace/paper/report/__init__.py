"""The campaign report: one self-contained page of HTML, for the screen and for paper. Start at `page.make`.

One file per section under `sections/`, which turns the content into plain data, one template under `templates/`
that sets it, and one line in the registry. There is no script in it, and nothing is fetched.
"""
