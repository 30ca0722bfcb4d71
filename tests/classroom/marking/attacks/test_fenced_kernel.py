"""The fence by its name: a kernel's own file asks for it, in a program that is not ours."""
from __future__ import annotations

import json
import sys
from pathlib import Path

import pytest
from jupyter_client.kernelspec import KernelSpecManager
from jupyter_client.manager import KernelManager

from acidbase_lib.classroom.marking.sandbox import sandbox_trouble

pytestmark = pytest.mark.skipif(bool(sandbox_trouble()),
                                reason=f"nothing can be fenced in here: {sandbox_trouble()}")
SPEC = {"argv": [sys.executable, "-m", "ipykernel_launcher", "-f", "{connection_file}"],
        "display_name": "Python, fenced in", "language": "python"}


def said_by(folder: Path, spec: dict[str, object], program: str) -> str:
    """Start a kernel of this kind by Jupyter's own client, and return what a program prints."""
    (folder / "kernels" / "fenced").mkdir(parents=True, exist_ok=True)
    (folder / "kernels" / "fenced" / "kernel.json").write_text(json.dumps(spec))
    kinds = KernelSpecManager(kernel_dirs=[str(folder / "kernels")])
    printed: list[str] = []
    manager = KernelManager(kernel_name="fenced", kernel_spec_manager=kinds)
    manager.start_kernel()
    client = manager.blocking_client()
    client.start_channels()
    try:
        client.wait_for_ready(timeout=60)
        client.execute_interactive(program, timeout=30, output_hook=lambda message: printed.append(
            message["content"].get("text", message["msg_type"] if "error" in message["msg_type"]
                                   else "")))
    finally:
        client.stop_channels()
        manager.shutdown_kernel(now=True)
    return "".join(printed)


@pytest.mark.slow
def test_a_kernels_own_file_may_ask_for_the_fence(tmp_path: Path) -> None:
    key = tmp_path / "key.txt"
    key.write_text("the right answers")
    program = f"""
try:
    print(open({str(key)!r}).read())
except OSError as slip:
    print(type(slip).__name__)
print(6 * 7)"""
    assert "the right answers" in said_by(tmp_path, SPEC, program)
    fenced = SPEC | {"metadata": {"kernel_provisioner": {
        "provisioner_name": "acidbase-fenced", "config": {}}}}
    told = said_by(tmp_path, fenced, program)
    assert told.split() == ["FileNotFoundError", "42"]
