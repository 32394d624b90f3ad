# syntax=docker/dockerfile:1
# A static program in an otherwise empty image.
FROM golang:1.26 AS build
WORKDIR /src
COPY go.mod go.sum ./
RUN go mod download
COPY . .
RUN CGO_ENABLED=0 go build -trimpath -ldflags="-s -w" -o /out/lumbricary . \
 && mkdir -p /out/data

FROM scratch
COPY --from=build /etc/ssl/certs/ca-certificates.crt /etc/ssl/certs/
COPY --from=build /out/lumbricary /lumbricary
COPY --from=build --chown=65532:65532 /out/data /data
USER 65532:65532
WORKDIR /data
VOLUME /data
EXPOSE 8080
ENV ADDR=:8080
HEALTHCHECK --interval=30s --timeout=5s --start-period=20s CMD ["/lumbricary", "health"]
ENTRYPOINT ["/lumbricary"]
CMD ["serve"]
