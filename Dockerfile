# Built where there is internet, run where there is none: docker build -t saltcalc .
FROM python:3.12-slim-bookworm AS build
WORKDIR /build
RUN python -m venv /opt/saltcalc
COPY requirements.lock pyproject.toml README.md LICENSE ./
COPY saltcalc ./saltcalc
# The lock file bounds every version; the extra brings PHREEQC.
RUN /opt/saltcalc/bin/pip install --no-cache-dir --disable-pip-version-check \
        --constraint requirements.lock ".[chemistry]" \
    && /opt/saltcalc/bin/pip uninstall --yes pip

FROM python:3.12-slim-bookworm
RUN useradd --uid 10001 --no-create-home --shell /usr/sbin/nologin saltcalc
COPY --from=build /opt/saltcalc /opt/saltcalc
COPY fixtures /fixtures
USER saltcalc
WORKDIR /
ENV PATH=/opt/saltcalc/bin:$PATH PYTHONDONTWRITEBYTECODE=1 PYTHONUNBUFFERED=1 HOME=/tmp \
    SALTCALC_HOST=0.0.0.0 SALTCALC_PORT=8000
EXPOSE 8000
HEALTHCHECK --interval=30s --timeout=5s --start-period=30s \
    CMD ["python", "-c", "import os, urllib.request as r; r.urlopen('http://127.0.0.1:' + os.environ['SALTCALC_PORT'] + '/readyz', timeout=4)"]
CMD ["saltcalc", "serve"]
