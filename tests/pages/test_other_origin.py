"""A page of another origin asks the service in a real browser, which keeps to what is allowed."""

import threading
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer

import pytest

from saltcalc.demo import running_service
from saltcalc.service.keys import make_key

pytestmark = [pytest.mark.browser, pytest.mark.xdist_group("browser")]

ASK = """
async ([address, key, request]) => {
  try {
    const answer = await fetch(address + "/v1/assessments", {
      method: "POST",
      headers: {"Content-Type": "application/json", "Authorization": "Bearer " + key},
      body: JSON.stringify(request),
    });
    return {
      status: answer.status,
      id: answer.headers.get("X-Request-ID"),
      answer: await answer.json(),
    };
  } catch (error) {
    return {refused: String(error)};
  }
}
"""


class _Page(BaseHTTPRequestHandler):
    """An empty page of somebody else."""

    def do_GET(self):
        self.send_response(200)
        self.send_header("Content-Type", "text/html")
        self.end_headers()
        self.wfile.write(b"<!doctype html><title>a farm program</title>")

    def log_message(self, *_):
        pass


@pytest.fixture(scope="module")
def port():
    server = ThreadingHTTPServer(("127.0.0.1", 0), _Page)
    thread = threading.Thread(target=server.serve_forever)
    thread.start()
    yield server.server_port
    server.shutdown()
    thread.join()
    server.server_close()


@pytest.fixture(scope="module")
def service(port, tmp_path_factory):
    """Run the service for pages of one origin; return its address and a key."""
    key, line = make_key("farm")
    keys = tmp_path_factory.mktemp("access") / "keys"
    keys.write_text(line + "\n")
    with pytest.MonkeyPatch.context() as environment:
        environment.setenv("SALTCALC_CORS_ORIGINS", f"http://127.0.0.1:{port}")
        environment.setenv("SALTCALC_KEYS", str(keys))
        with running_service() as address:
            yield address, key


@pytest.fixture
def ask(chromium, service, demo_request):
    """Ask from a page of an origin, as its script would, and return what the script gets."""

    def asked(origin, key=service[1], request=demo_request):
        page = chromium.new_page()
        page.goto(origin)
        try:
            return page.evaluate(ASK, [service[0], key, request])
        finally:
            page.close()

    return asked


def test_a_page_of_an_origin_that_is_allowed_reads_the_answer(ask, port):
    """Preflight and all: the media type and the key make the browser ask before."""
    got = ask(f"http://127.0.0.1:{port}")
    assert got["status"] == 200
    assert got["answer"]["salinity"]["class"] == "high"
    assert got["id"]


def test_it_reads_why_it_was_refused(ask, port):
    origin = f"http://127.0.0.1:{port}"
    assert ask(origin, request={"medium": {"ec": "much"}})["status"] == 422
    refused = ask(origin, key="another")
    assert refused["status"] == 401
    assert "key" in refused["answer"]["detail"]


def test_a_page_of_any_other_origin_reads_nothing(ask, port):
    """The same page under another name of the same machine is another origin."""
    assert "Failed to fetch" in ask(f"http://localhost:{port}")["refused"]
