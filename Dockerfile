# One process, SQLite and a photo folder under /data. Behind a TLS proxy: phones need https to work offline and to scan.
FROM python:3.11-slim
WORKDIR /app
COPY pyproject.toml requirements.lock README.md ./
COPY server ./server
COPY pwa ./pwa
COPY seed_data ./seed_data
RUN pip install --no-cache-dir -c requirements.lock . && useradd --create-home spanwalk && mkdir /data && chown spanwalk /data
USER spanwalk
VOLUME /data
EXPOSE 8000
CMD ["spanwalk", "serve", "--host", "0.0.0.0", "--port", "8000", "--data", "/data"]
