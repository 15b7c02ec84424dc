# Spanwalk on Debian 12: one process that is not root, on a file system of which it can write /data and /tmp only.
#   docker build -t spanwalk .
#   docker run -it --rm --read-only --tmpfs /tmp -v spanwalk:/data spanwalk spanwalk init
#   docker run -d --read-only --tmpfs /tmp --cap-drop ALL --security-opt no-new-privileges --init \
#     -v spanwalk:/data -p 127.0.0.1:8000:8000 --env-file spanwalk.env --restart unless-stopped spanwalk
# Behind a TLS proxy: phones need https to work offline and to scan. server/running.md says more.
FROM debian:bookworm-slim
RUN apt-get update && apt-get install -y --no-install-recommends python3 python3-venv ca-certificates \
 && rm -rf /var/lib/apt/lists/*
RUN useradd --system --uid 10001 --user-group --no-create-home --home-dir /data --shell /usr/sbin/nologin spanwalk \
 && install -d -o spanwalk -g spanwalk -m 700 /data
WORKDIR /src
COPY pyproject.toml requirements.lock README.md ./
COPY server ./server
COPY pwa ./pwa
COPY seed_data ./seed_data
RUN python3 -m venv /opt/spanwalk \
 && /opt/spanwalk/bin/pip install --no-cache-dir --disable-pip-version-check -c requirements.lock '.[scale]' \
 && rm -rf /src/*
ENV PATH=/opt/spanwalk/bin:/usr/local/bin:/usr/bin:/bin SPANWALK_DATA=/data SPANWALK_LOG=json
ENV PYTHONDONTWRITEBYTECODE=1 PYTHONUNBUFFERED=1
WORKDIR /data
USER spanwalk
VOLUME /data
EXPOSE 8000
HEALTHCHECK --interval=30s --timeout=5s --start-period=60s --retries=3 CMD ["python3", "-c", "import urllib.request as u; u.urlopen('http://127.0.0.1:8000/api/health', timeout=4)"]
STOPSIGNAL SIGTERM
CMD ["spanwalk", "serve", "--host", "0.0.0.0", "--port", "8000"]
