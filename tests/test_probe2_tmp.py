import asyncio
def test_async(): asyncio.run(asyncio.sleep(0))
