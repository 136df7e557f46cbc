"""The socket that the server listens at."""

from __future__ import annotations

import asyncio
import socket

from finishlog.web import running
from finishlog.web.gate.place import Place


def test_an_answer_in_two_parts_is_sent_at_once() -> None:
    """Its second part would else wait for the phone to say that the first came: 40 ms a page."""

    async def accepted() -> int:
        came: asyncio.Future[asyncio.StreamWriter] = asyncio.get_running_loop().create_future()
        listening = running._listen(Place(port=0))
        server = await asyncio.start_server(lambda _, writer: came.set_result(writer), sock=listening)
        async with server:
            _, phone = await asyncio.open_connection(*listening.getsockname())
            writer = await came
            own: socket.socket = writer.get_extra_info("socket")
            option = own.getsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY)
            writer.close()
            phone.close()
            return option

    assert asyncio.run(accepted())
