# One image for web, worker and beat; docker-compose.yml says which command each runs.
FROM python:3.12-slim-bookworm

RUN pip install --no-cache-dir uv && useradd --create-home --uid 10001 dairy
WORKDIR /app
COPY pyproject.toml uv.lock ./
RUN uv sync --frozen --no-dev --no-cache
COPY . .
ENV PATH="/app/.venv/bin:$PATH" DATA_DIR=/data FILES_DIR=/data/files STATIC_ROOT=/app/staticfiles PYTHONUNBUFFERED=1
RUN mkdir -p /data/files && SECRET_KEY=only-for-this-step python manage.py collectstatic --no-input && chown -R dairy /data
USER dairy
EXPOSE 8000
