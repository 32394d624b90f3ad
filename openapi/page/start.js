// Shows the contract of the service that serves this page.
SwaggerUIBundle({
  url: "../openapi.json",
  dom_id: "#page",
  deepLinking: true,
  docExpansion: "list",
  defaultModelsExpandDepth: 0,
  persistAuthorization: false,
  validatorUrl: null,
});
