"""Configuration of a school's JupyterHub for the course: ``jupyterhub -f PATH_OF_THIS_FILE``.

What a school decides stands in variables of the environment, listed in `simulate.course.hub.settings`. The course is
read from the environment that Python is started from, which no student can write to; a student's home holds the
student's own notebooks and answers, and nothing of anybody else.
"""

import os
import sys
from typing import Any

from simulate.course.hub.homes import home_of
from simulate.course.hub.settings import HubSettings, settings

ONE_THREAD = dict.fromkeys(("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS"), "1")


def configure(c: Any, school: HubSettings) -> None:
    """Set hub, proxy and students' servers as the school wants them."""
    c.JupyterHub.bind_url = school.address
    c.JupyterHub.hub_bind_url = f"http://127.0.0.1:{school.hub_port}"
    c.JupyterHub.db_url = f"sqlite:///{school.state / 'hub.sqlite'}"
    c.JupyterHub.cookie_secret_file = str(school.state / "cookie_secret")
    c.JupyterHub.concurrent_spawn_limit = school.starts_at_once
    c.JupyterHub.active_server_limit = school.most_students
    c.JupyterHub.shutdown_on_logout = True
    c.ConfigurableHTTPProxy.api_url = f"http://127.0.0.1:{school.proxy_port}"
    c.ConfigurableHTTPProxy.pid_file = str(school.state / "proxy.pid")
    c.ConfigurableHTTPProxy.command = [school.proxy]
    c.Authenticator.allowed_users = set(school.words())
    c.Authenticator.delete_invalid_users = True
    _servers(c, school)
    if school.trial_password:
        _trial(c, school)


def _servers(c: Any, school: HubSettings) -> None:
    c.Spawner.cmd = [sys.executable, "-m", "jupyterhub.singleuser"]
    c.Spawner.notebook_dir = str(school.homes / "{username}")
    c.Spawner.default_url = "/lab"
    c.Spawner.start_timeout = c.Spawner.http_timeout = 180
    c.Spawner.environment = ONE_THREAD
    c.Spawner.pre_spawn_hook = lambda spawner: home_of(school.homes, spawner.user.name)  # refuses who has no home
    c.Spawner.args = [
        f"--MappingKernelManager.cull_idle_timeout={school.idle_s}",
        f"--MappingKernelManager.cull_interval={max(school.idle_s // 4, 1)}",
        "--MappingKernelManager.cull_connected=True",
        f"--ServerApp.shutdown_no_activity_timeout={3 * school.idle_s}",
        "--ServerApp.terminals_enabled=False",
    ]


def _trial(c: Any, school: HubSettings) -> None:
    """One password for all, on this machine alone; every server runs as whoever started the hub."""
    c.JupyterHub.authenticator_class = "shared-password"
    c.SharedPasswordAuthenticator.user_password = school.trial_password
    c.JupyterHub.spawner_class = "simple"
    c.SimpleLocalProcessSpawner.home_dir_template = str(school.homes / "{username}")
    if os.name == "posix" and os.geteuid() == 0:
        c.Spawner.args += ["--allow-root"]


def put_a_lid_on(kind: type, memory_mb: int) -> None:
    """Have a spawner start each process with a lid on the data that it, and whatever it starts, may hold."""
    make = kind.make_preexec_fn  # type: ignore[attr-defined]

    def made(self: Any, name: str) -> Any:
        before = make(self, name)

        def prepare() -> None:
            import resource  # only where processes have such lids

            resource.setrlimit(resource.RLIMIT_DATA, (memory_mb * 2**20, memory_mb * 2**20))
            before()

        return prepare

    kind.make_preexec_fn = made  # type: ignore[attr-defined]


def let_a_report_in(c: Any, token: str) -> None:
    """Let the measurement start servers and talk to their kernels."""
    c.JupyterHub.services = [{"name": "report", "api_token": token}]
    scopes = ["admin:users", "admin:servers", "access:servers"]
    c.JupyterHub.load_roles = [{"name": "report", "services": ["report"], "scopes": scopes}]


if "get_config" in globals():  # the hub reads this file, and is not merely importing it
    from jupyterhub.spawner import LocalProcessSpawner, SimpleLocalProcessSpawner

    config, school = globals()["get_config"](), settings(os.environ)
    configure(config, school)
    for each in (LocalProcessSpawner, SimpleLocalProcessSpawner):
        if "make_preexec_fn" in vars(each):
            put_a_lid_on(each, school.memory_mb)
    if "HUB_REPORT_TOKEN" in os.environ:
        let_a_report_in(config, os.environ["HUB_REPORT_TOKEN"])
