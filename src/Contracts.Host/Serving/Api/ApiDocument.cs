using System.Text.Json.Nodes;
using Contracts.Host.Serving.SignIn;
using Microsoft.AspNetCore.OpenApi;
using Microsoft.OpenApi;
using Scalar.AspNetCore;

namespace Contracts.Host.Serving.Api;

/// <summary>The API document (OpenAPI 3.1), made from the routes that are there, and the page that shows it.</summary>
internal static class ApiDocument
{
    private const string Problem = "Problem";
    private const string Key = "key";

    public static void Add(IServiceCollection services) => services.AddOpenApi("v1", options =>
    {
        options.OpenApiVersion = OpenApiSpecVersion.OpenApi3_1;
        options.AddDocumentTransformer(DescribeAsync);
        options.AddOperationTransformer(DescribeAsync);
    });

    public static void Map(IEndpointRouteBuilder routes)
    {
        routes.MapOpenApi("/openapi/{documentName}.json").AllowAnonymous();
        // Everything the page needs comes with the package: nothing is fetched from elsewhere, and nothing is told anybody.
        routes.MapScalarApiReference("/reference", page => page
            .WithTitle("Contracts").WithOpenApiRoutePattern("/openapi/v1.json").DisableDefaultFonts().DisableTelemetry().DisableAgent().DisableMcp())
            .AllowAnonymous();
    }

    private static Task DescribeAsync(OpenApiDocument document, OpenApiDocumentTransformerContext context, CancellationToken stop)
    {
        document.Info = new OpenApiInfo
        {
            Title = "Contracts", Version = "v1",
            Description = "Rent-to-own contracts of a music shop: figures as of any day, as known at any moment, and the commands that change them. "
                + "Amounts are text such as \"45.00\", days are 2026-12-31, moments are UTC. Rent-to-own disclosure rules vary by state; not legal advice.",
            License = new OpenApiLicense { Name = "Apache-2.0", Identifier = "Apache-2.0" },
        };
        // Where it was asked for is where it is: an address here would be wrong behind a proxy.
        document.Servers = [];
        document.AddComponent<IOpenApiSecurityScheme>(Key, new OpenApiSecurityScheme
        {
            Type = SecuritySchemeType.Http, Scheme = "bearer", Description = "An API key: `contracts key new --role auditor` prints one.",
        });
        document.AddComponent<IOpenApiSchema>(Problem, ProblemSchema());
        foreach (var (name, shape) in AnswerShapes.All()) { document.AddComponent<IOpenApiSchema>(name, shape); }
        return Task.CompletedTask;
    }

    private static OpenApiSchema ProblemSchema()
    {
        return new OpenApiSchema
        {
            Type = JsonSchemaType.Object, Description = "RFC 9457. `type` leads to what the code means.",
            Required = new HashSet<string> { "type", "title", "status", "detail", "code" },
            Properties = new Dictionary<string, IOpenApiSchema>
            {
                ["type"] = Text("Where the host explains the code."), ["title"] = Text("The code in words."),
                ["status"] = new OpenApiSchema { Type = JsonSchemaType.Integer }, ["detail"] = Text("A sentence for the person who asked."),
                ["code"] = Text("Stable and never reused."), ["number"] = new OpenApiSchema { Type = JsonSchemaType.Integer, Description = "The number of a refusal." },
                ["field"] = Text("The field at fault."), ["rightFigure"] = Text("The amount, date, share or version that would be accepted."),
                ["citation"] = Text("The statute behind the figure."), ["role"] = Text("The role that does not do."),
                ["roles"] = new OpenApiSchema { Type = JsonSchemaType.Array, Items = Text(null), Description = "The roles that would do." },
                ["traceId"] = Text("Finds a fault in the log."),
            },
        };

        static OpenApiSchema Text(string? says) => new() { Type = JsonSchemaType.String, Description = says };
    }

    private static Task DescribeAsync(OpenApiOperation operation, OpenApiOperationTransformerContext context, CancellationToken stop)
    {
        if (context.Description.ActionDescriptor.EndpointMetadata.OfType<Door>().FirstOrDefault() is not { } door)
        {
            DescribeOpen(operation, context);
            return Task.CompletedTask;
        }

        operation.OperationId = ApiExamples.NameOf(door);
        operation.Description = $"Roles: {string.Join(", ", door.Roles)}.{(door.Recorded ? " Each use is written down with its purpose before the answer." : "")}";
        operation.Security = [new OpenApiSecurityRequirement { [new OpenApiSecuritySchemeReference(Key, context.Document)] = [] }];
        operation.Parameters ??= [];
        foreach (var (name, says) in ApiExamples.HeadersOf(door))
        {
            operation.Parameters.Add(new OpenApiParameter
            {
                Name = name, In = ParameterLocation.Header, Description = says, Schema = new OpenApiSchema { Type = JsonSchemaType.String },
            });
        }

        if (ApiExamples.BodyOf(door) is { Count: > 0 } bodies)
        {
            operation.RequestBody = new OpenApiRequestBody
            {
                Required = true,
                Content = new Dictionary<string, OpenApiMediaType>
                {
                    [ApiExamples.TypeOf(door)] = new()
                    {
                        Schema = new OpenApiSchema { Type = IsJson(door) ? JsonSchemaType.Object : JsonSchemaType.String },
                        Examples = bodies.ToDictionary(
                            one => one.Key, IOpenApiExample (one) => new OpenApiExample { Value = IsJson(door) ? JsonNode.Parse(one.Value) : JsonValue.Create(one.Value) }),
                    },
                },
            };
        }

        operation.Responses = [];
        var (status, types, answer) = ApiExamples.AnswerOf(door);
        operation.Responses[status] = new OpenApiResponse
        {
            Description = answer,
            Content = types.ToDictionary(type => type, type => new OpenApiMediaType { Schema = AnswerShapes.Of(door, type, context.Document!) }),
        };
        foreach (var problem in Against(door, context.Document!)) { operation.Responses[problem.Status] = problem.Response; }
        return Task.CompletedTask;
    }

    /// <summary>What is open to everybody.</summary>
    private static void DescribeOpen(OpenApiOperation operation, OpenApiOperationTransformerContext context)
    {
        var path = context.Description.RelativePath!;
        operation.Responses = new OpenApiResponses
        {
            ["200"] = new OpenApiResponse
            {
                Description = operation.Summary ?? "",
                Content = new Dictionary<string, OpenApiMediaType>
                {
                    [path.EndsWith("live", StringComparison.Ordinal) ? "text/plain" : "application/json"] = new() { Schema = AnswerShapes.Of(path, context.Document!) },
                },
            },
        };
    }

    private static bool IsJson(Door door) => ApiExamples.TypeOf(door) == "application/json";

    private static IEnumerable<(string Status, OpenApiResponse Response)> Against(Door door, OpenApiDocument document)
    {
        var sends = ApiExamples.BodyOf(door).Count > 0;
        yield return ("400", Says("Something in the request cannot be read."));
        yield return ("401", Says("No key, or one that opens nothing."));
        yield return ("403", Says("The role does not do; those that would are named."));
        yield return ("404", Says("There is no such thing, as known then."));
        if (door == Doors.Account) { yield return ("304", new OpenApiResponse { Description = "The same figures as those of If-None-Match." }); }
        if (sends || door == Doors.Paper || door == Doors.Packet) { yield return ("409", Says("Another state stands in the way.")); }
        if (door == Doors.Commands) { yield return ("412", Says("The contract has moved since it was looked at; rightFigure is its version now.")); }
        if (sends)
        {
            yield return ("413", Says("The body is too long."));
            yield return ("415", Says("The body is not JSON."));
            yield return ("422", Says("A rule forbids it."));
        }

        yield return ("429", Says("Too many requests; Retry-After says how long to wait."));
        yield return ("500", Says("A fault of the program."));
        yield return ("503", Says("The store is away, the time is up, or the read could not be written down."));

        OpenApiResponse Says(string description) => new()
        {
            Description = description,
            Content = new Dictionary<string, OpenApiMediaType> { [Answers.ProblemType] = new() { Schema = new OpenApiSchemaReference(Problem, document) } },
        };
    }
}
