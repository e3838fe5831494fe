using System.Text.Json.Nodes;
using Microsoft.OpenApi;

namespace Contracts.Host.Serving.Api;

/// <summary>The few shapes that answers are made of, for the API document.</summary>
internal static class Shapes
{
    /// <summary>An object with these members and no other; one whose name ends in a question mark may be missing.</summary>
    public static OpenApiSchema Closed(string? says, params (string Name, IOpenApiSchema Shape)[] members) => new()
    {
        Type = JsonSchemaType.Object,
        Description = says,
        Properties = members.ToDictionary(one => one.Name.TrimEnd('?'), one => one.Shape),
        Required = members.Where(one => !one.Name.EndsWith('?')).Select(one => one.Name).ToHashSet(),
        AdditionalPropertiesAllowed = false,
    };

    /// <summary>An object whose members have names of their own.</summary>
    public static OpenApiSchema Map(IOpenApiSchema values, string says) => new() { Type = JsonSchemaType.Object, Description = says, AdditionalProperties = values };

    /// <summary>An object that is described elsewhere, with these members and others.</summary>
    public static OpenApiSchema Open(string says, params (string Name, IOpenApiSchema Shape)[] members) => new()
    {
        Type = JsonSchemaType.Object,
        Description = says,
        Properties = members.ToDictionary(one => one.Name, one => one.Shape),
        Required = members.Select(one => one.Name).ToHashSet(),
    };

    public static OpenApiSchema List(IOpenApiSchema items, string? says = null) => new() { Type = JsonSchemaType.Array, Items = items, Description = says };

    public static OpenApiSchema Text(string? says = null) => new() { Type = JsonSchemaType.String, Description = says };

    public static OpenApiSchema OneOf(params string[] words) => new() { Type = JsonSchemaType.String, Enum = [.. words.Select(word => (JsonNode)word)] };

    public static OpenApiSchema Match(string pattern, string? says = null) => new() { Type = JsonSchemaType.String, Pattern = pattern, Description = says };

    /// <summary>Dollars and cents.</summary>
    public static OpenApiSchema Money(string? says = null) => Match(@"^-?\d+\.\d{2}$", says);

    public static OpenApiSchema Digest(string? says = null) => Match("^[0-9a-f]{64}$", says ?? "A SHA-256 in lower-case hex.");

    public static OpenApiSchema Day(string? says = null) => new() { Type = JsonSchemaType.String, Format = "date", Description = says };

    public static OpenApiSchema Moment(string? says = null) => new() { Type = JsonSchemaType.String, Format = "date-time", Description = says };

    public static OpenApiSchema Count(string? says = null) => new() { Type = JsonSchemaType.Integer, Description = says };

    public static OpenApiSchema Flag(string? says = null) => new() { Type = JsonSchemaType.Boolean, Description = says };

    /// <summary>The same, or null.</summary>
    public static OpenApiSchema OrNull(OpenApiSchema shape)
    {
        shape.Type |= JsonSchemaType.Null;
        return shape;
    }
}
