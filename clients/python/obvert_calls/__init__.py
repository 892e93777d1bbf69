"""What every Python program that speaks to Obvert needs: a channel with a key, a plug-in's server."""

import concurrent.futures
import pathlib

import grpc


class _Key(grpc.AuthMetadataPlugin):
    def __init__(self, key: str):
        self._key = key

    def __call__(self, context, callback):
        callback((("authorization", f"Bearer {self._key}"),), None)


def channel(address: str, key_file: str, certificate_file: str | None = None) -> grpc.Channel:
    """Channel to a server; the key is read from a file. Without a certificate: plain text, loopback."""
    key = pathlib.Path(key_file).read_text().strip()
    if certificate_file is None:
        return grpc.intercept_channel(grpc.insecure_channel(address), _Bearer(key))
    root = grpc.ssl_channel_credentials(pathlib.Path(certificate_file).read_bytes())
    calls = grpc.metadata_call_credentials(_Key(key))
    return grpc.secure_channel(address, grpc.composite_channel_credentials(root, calls))


class _Bearer(grpc.UnaryUnaryClientInterceptor, grpc.UnaryStreamClientInterceptor):
    """Puts the key on calls of a plain-text channel, which takes no credentials."""

    def __init__(self, key: str):
        self._header = ("authorization", f"Bearer {key}")

    def _with_key(self, proceed, details, request):
        metadata = [*(details.metadata or []), self._header]
        return proceed(details._replace(metadata=metadata), request)

    intercept_unary_unary = _with_key
    intercept_unary_stream = _with_key


def serve(address: str, *add) -> grpc.Server:
    """Serves plug-ins on unix:/path or host:port; each of `add` puts one onto the server."""
    server = grpc.server(concurrent.futures.ThreadPoolExecutor(max_workers=8))
    for put in add:
        put(server)
    server.add_insecure_port(address)
    server.start()
    return server
