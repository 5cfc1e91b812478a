"""The one page that is served unencrypted beside the encrypted ones: the authority's certificate, and its use.

It holds nothing of the user's and takes nothing: anybody on the network may read it, and somebody in between could
change it, so that the fingerprint is to be compared with the one that the machine itself shows.
"""

import base64
import hashlib
from html import escape

from starlette.applications import Starlette
from starlette.requests import Request
from starlette.responses import HTMLResponse, PlainTextResponse, Response
from starlette.routing import Route
from starlette.types import ASGIApp, Receive, Scope, Send

from rillwright.api.authority import Authority
from rillwright.api.guard import names_this_machine

__all__ = ["trust_app"]

FILE = "/authority.crt"
_STYLE = """
:root { color-scheme: light dark; font: 17px/1.5 system-ui, sans-serif; }
body { max-width: 38rem; margin: 0 auto; padding: 16px; }
h1 { font-size: 1.4rem; line-height: 1.25; }
h2 { margin-top: 2rem; font-size: 1.1rem; }
a { color: inherit; }
li { margin: 12px 0; }
code { font-size: 1rem; }
.act { display: inline-block; min-height: 28px; padding: 10px 18px; border: 2px solid; border-radius: 6px; }
"""
_HEADERS = {
    "Content-Security-Policy": "default-src 'none'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'; "
    f"style-src 'sha256-{base64.b64encode(hashlib.sha256(_STYLE.encode()).digest()).decode()}'",
    "X-Content-Type-Options": "nosniff",
    "Referrer-Policy": "no-referrer",
    "Cache-Control": "no-store",
}


def trust_app(authority: Authority, *, address: str) -> ASGIApp:
    """Make the page.

    Parameters: address, that a phone opens once it trusts the certificate.
    """
    page = _page(authority, address)

    async def read(_request: Request) -> Response:
        return HTMLResponse(page, headers=_HEADERS)

    async def file(_request: Request) -> Response:
        return Response(authority.file, media_type="application/x-x509-ca-cert", headers=_HEADERS)

    app = Starlette(routes=[Route("/", read), Route(FILE, file)], exception_handlers={404: _nothing, 405: _nothing})

    async def named(scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] != "http":
            return
        rightly = names_this_machine(scope, frozenset(authority.names))
        await (app if rightly else PlainTextResponse("This address does not name this machine.\n", 421))(
            scope, receive, send
        )

    return named


async def _nothing(_request: Request, _error: Exception) -> Response:
    return PlainTextResponse("Only the certificate is here.\n", 404, headers=_HEADERS)


def _page(authority: Authority, address: str) -> str:
    title, link = escape(authority.title), escape(address)
    fingerprint = authority.fingerprint.replace(":", ":<wbr>")
    allowed = escape(", ".join([*authority.names, str(authority.network)]))
    return f"""<!doctype html>
<html lang="en">
<head><meta charset="utf-8"><meta name="viewport" content="width=device-width, initial-scale=1">
<title>Trust this machine</title><style>{_STYLE}</style></head>
<body><main>
<h1>Once on each phone: trust the machine that serves the page</h1>
<p>The page you use in the yard comes encrypted from a machine on your own network. Your phone knows that it is the
right machine once it holds that machine's certificate, named <strong>{title}</strong>.</p>
<ol>
<li><a class="act" href="{FILE}">Fetch the certificate</a></li>
<li>Compare. Open the file's details in the phone; its SHA-256 fingerprint must be the one that the terminal shows where
the program was started, and that Work shows at the desk:<br><code>{fingerprint}</code><br>
If it is another one, stop and delete the file: somebody stands in between.</li>
<li>Install it.
<ul>
<li>If the phone says that a profile was loaded: open the phone's settings, where the profile is offered, and install
it. Then look in the settings for the trust in certificates, and switch this one on.</li>
<li>Otherwise: search the phone's settings for "certificate", choose to install one of an authority (CA), and pick the
file. The phone warns of what an authority could do; what this one can do is below.</li>
<li>On a computer: in the browser's settings, under certificates, add it to the authorities, for web sites only.</li>
</ul></li>
<li>Open <a href="{link}">{link}</a>, and type the code that the terminal shows.</li>
</ol>
<h2>What trusting it means</h2>
<p>Your phone then believes this certificate's key about {allowed}, and about nothing else: the limit is written in the
certificate, and no other site on the internet is touched. The key lies in this machine's data folder and never leaves
it. Who steals it could pretend to be a machine of this network to your phone. Phones may say that the network can be
watched; they say so of every authority that was added by hand.</p>
<h2>How to remove it</h2>
<p>In the phone's settings, where it was installed, delete <strong>{title}</strong>. Deleting the folder
<code>tls</code> in the program's data folder destroys the key. Without all this,
<code>rillwright serve --share --plain</code> serves the page unencrypted, and phones keep no copy of it for a time
without connection.</p>
</main></body></html>
"""
