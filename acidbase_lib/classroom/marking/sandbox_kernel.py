"""A Jupyter kernel inside the fence: a provisioner, and a manager that will use no other."""
from __future__ import annotations

import os
import shutil
import subprocess
import tempfile
from contextlib import suppress
from pathlib import Path
from typing import Any
from uuid import uuid4

import zmq
from jupyter_client.manager import AsyncKernelManager
from jupyter_client.provisioning import LocalProvisioner
from traitlets import Bool, Int, List, Unicode

from .sandbox import Fence, fenced, let_in, require_sandbox, unused_user
from .sandbox_watch import Watcher

LARGEST_MESSAGE = 4 * 2**20  # bytes; a longer one closes the connection instead of filling memory


class SandboxProvisioner(LocalProvisioner):  # type: ignore[misc]
    """Starts a kernel under bubblewrap, or not at all."""

    memory = Int(1024, min=64, help="Memory of the learner's code, in MB.").tag(config=True)
    processes = Int(64, min=8, help="Processes and threads of the learner's code.").tag(config=True)
    seconds = Int(120, min=1, help="Seconds for one whole notebook.").tag(config=True)
    scratch = Int(64, min=1, help="Files that the code may write, in MB.").tag(config=True)
    other_programs = Bool(False, help=(
        "True lets the code start other programs; its memory is then looked at ten times a "
        "second, where otherwise Linux itself holds every limit.")).tag(config=True)
    visible = List(Unicode(), help="Files and folders the code may read.").tag(config=True)
    hidden = List(Unicode(), help="Folders it must never see.").tag(config=True)
    run_learner_code_unprotected = Bool(False, help=(
        "True runs what learners wrote with all your rights: it can read and change every file "
        "you can, keys and gradebook included. Only inside a machine made for nothing else.")
    ).tag(config=True)

    watcher: Watcher | None = None
    _place: Path | None = None

    async def pre_launch(self, **kwargs: Any) -> dict[str, Any]:
        """Put the fence around the kernel's command."""
        if self.run_learner_code_unprotected:
            return dict(await super().pre_launch(**kwargs))
        require_sandbox()
        self._place = Path(tempfile.mkdtemp(prefix="acidbase-"))
        manager = self.parent
        manager.transport = "ipc"
        manager.ip = str(self._place / "k")
        manager.connection_file = str(self._place / "connection.json")
        self.kernel_spec.interrupt_mode = "message"  # a signal would not reach inside
        args = await super().pre_launch(**kwargs)
        user = unused_user() if os.geteuid() == 0 else None
        let_in(self._place, os.geteuid() if user is None else user)
        args["cmd"] = fenced(args["cmd"], self.fence, writable=self._place,
                             visible=self.visible, hidden=self.hidden, user=user)
        args |= dict.fromkeys(("stdin", "stdout", "stderr"), subprocess.DEVNULL)
        args["cwd"] = "/"
        args["env"] = {"PATH": os.environ.get("PATH", "/usr/bin:/bin")}
        return dict(args)

    async def launch_kernel(self, cmd: list[str], **kwargs: Any) -> Any:
        """Start it, and a watcher beside it."""
        args = await super().launch_kernel(cmd, **kwargs)
        if self._place is not None and self.pid is not None:
            self.watcher = Watcher(self.pid, self.fence, self._place)
            self.watcher.start()
        return args

    async def cleanup(self, restart: bool = False) -> None:
        """Take away what the kernel left."""
        if self.watcher is not None:
            self.watcher.end()
        if self._place is not None:
            with suppress(OSError):
                self._place.chmod(0o700)
            shutil.rmtree(self._place, ignore_errors=True)
        await super().cleanup(restart)

    def stop(self, why: str) -> None:
        """End the kernel and whatever it started."""
        if self.watcher is not None:
            self.watcher.stop(why)
        elif self.process is not None:
            self.process.kill()

    @property
    def fence(self) -> Fence:
        """The limits, as configured."""
        return Fence(self.memory, self.processes, self.seconds, self.scratch,
                     self.other_programs)


class SandboxedKernelManager(AsyncKernelManager):  # type: ignore[misc]
    """Starts kernels inside the fence, whatever provisioner a kernel's own file asks for."""

    def __init__(self, **settings: Any) -> None:
        super().__init__(**settings)
        self.context.setsockopt(zmq.MAXMSGSIZE, LARGEST_MESSAGE)
        self.context.setsockopt(zmq.RCVHWM, 200)

    provisioner: Any
    kernel_id: Any

    async def _async_pre_start_kernel(self, **kwargs: Any) -> Any:
        if self.provisioner is None:
            self.kernel_id = self.kernel_id or str(uuid4())
            self.provisioner = SandboxProvisioner(
                kernel_id=self.kernel_id, kernel_spec=self.kernel_spec, parent=self)
        return await super()._async_pre_start_kernel(**kwargs)
