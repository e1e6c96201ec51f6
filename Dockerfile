# Built where there is internet, run where there is none: docker build -t saltcalc .
# The base by its digest, the same for every processor; a newer one at each release.
FROM python:3.12-slim-bookworm@sha256:782412e85d0f0984994c290652577d4018aff08145c85b262bb63dc0c7522254 AS build
WORKDIR /build
# For strip: wheels carry debugging symbols, one of them 50 MB.
RUN apt-get update && apt-get install --yes --no-install-recommends binutils
RUN python -m venv /opt/saltcalc
COPY docs/deploy/requirements.lock ./
# Every version and every hash is in the lock file.
RUN /opt/saltcalc/bin/pip install --no-cache-dir --disable-pip-version-check \
        --require-hashes -r requirements.lock
COPY pyproject.toml README.md LICENSE ./
COPY saltcalc ./saltcalc
COPY fixtures ./fixtures
# What only builds, and what no run reads, stays behind: tests, type stubs, headers, fonts that
# no picture takes, a format of pictures, dates of other languages.
RUN /opt/saltcalc/bin/pip install --no-cache-dir --disable-pip-version-check --no-deps \
        --no-build-isolation . \
    && /opt/saltcalc/bin/pip uninstall --yes editables hatchling trove-classifiers pathspec pluggy setuptools pip \
    && find /opt/saltcalc -type d \( -name tests -o -name sample_data -o -name afm -o -name pdfcorefonts \
        -o -path '*/numpy/f2py' -o -path '*/numpy/distutils' \) -prune -exec rm -rf {} + \
    && find /opt/saltcalc -name '*.so' -not -path '*.libs/*' -exec strip --strip-unneeded {} + \
    && find /opt/saltcalc \( -name '*.pyi' -o -name '*.map' -o -name '*.a' -o -name '*.h' -o -name '*.pxd' -o -name '*.pyx' \
        -o -name '*.c' -o -name 'STIX*.ttf' -o -name 'cm*.ttf' -o -name 'DejaVuSerif*' -o -name 'DejaVuSansMono*' -o -name 'swagger-ui-es-bundle*' \
        -o -name '_avif*.so' -o -name 'libavif*' \) -delete \
    && find /opt/saltcalc -path '*/babel/locale-data/*.dat' \
        -not -name 'root.dat' -not -name 'en*.dat' -not -name 'de*.dat' -not -name 'fr*.dat' \
        -not -name 'es*.dat' -delete

FROM python:3.12-slim-bookworm@sha256:782412e85d0f0984994c290652577d4018aff08145c85b262bb63dc0c7522254
LABEL org.opencontainers.image.title="saltcalc" \
      org.opencontainers.image.licenses="Apache-2.0" \
      org.opencontainers.image.description="Salinity of container media, over HTTP"
RUN useradd --uid 10001 --no-create-home --shell /usr/sbin/nologin saltcalc
COPY --from=build /opt/saltcalc /opt/saltcalc
USER saltcalc
WORKDIR /
ENV PATH=/opt/saltcalc/bin:$PATH PYTHONDONTWRITEBYTECODE=1 PYTHONUNBUFFERED=1 HOME=/tmp \
    OPENBLAS_NUM_THREADS=1 SALTCALC_HOST=0.0.0.0 SALTCALC_PORT=8000
EXPOSE 8000
STOPSIGNAL SIGTERM
HEALTHCHECK --interval=30s --timeout=5s --start-period=30s \
    CMD ["python", "-c", "import os, urllib.request as r; r.urlopen('http://127.0.0.1:' + os.environ['SALTCALC_PORT'] + '/readyz', timeout=4)"]
CMD ["saltcalc", "serve"]
