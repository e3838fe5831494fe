using System.Text.Json;
using System.Text.RegularExpressions;
using NodaTime.Text;
using Xunit;

namespace Contracts.Host.Tests.Serving.Api;

/// <summary>
/// Holds answers against the schemas of an API document: the part of JSON Schema that the document uses, and nothing is passed over, since
/// a keyword that is not known here fails.
/// </summary>
internal sealed class SchemaCheck(JsonElement document)
{
    private static readonly string[] Known = ["type", "properties", "required", "additionalProperties", "items", "pattern", "enum", "format", "$ref", "description"];

    /// <summary>What does not fit, each with its place; empty when all of it does.</summary>
    public IReadOnlyList<string> Against(JsonElement schema, JsonElement value)
    {
        var faults = new List<string>();
        Hold(schema, value, "$", faults);
        return faults;
    }

    private void Hold(JsonElement schema, JsonElement value, string at, List<string> faults)
    {
        Assert.All(schema.EnumerateObject(), keyword => Assert.Contains(keyword.Name, Known));
        if (schema.TryGetProperty("$ref", out var reference))
        {
            Hold(Find(reference.GetString()!), value, at, faults);
            return;
        }

        var types = schema.GetProperty("type") is { ValueKind: JsonValueKind.Array } several
            ? several.EnumerateArray().Select(one => one.GetString()!).ToList()
            : [schema.GetProperty("type").GetString()!];
        if (!types.Any(type => Is(type, value)))
        {
            faults.Add($"{at} is {value.ValueKind} and not {string.Join(" or ", types)}");
            return;
        }

        switch (value.ValueKind)
        {
            case JsonValueKind.Object: HoldObject(schema, value, at, faults); break;
            case JsonValueKind.Array:
                var index = 0;
                foreach (var item in value.EnumerateArray()) { Hold(schema.GetProperty("items"), item, $"{at}[{index++}]", faults); }
                break;
            case JsonValueKind.String: HoldText(schema, value.GetString()!, at, faults); break;
            default: break;
        }
    }

    private void HoldObject(JsonElement schema, JsonElement value, string at, List<string> faults)
    {
        var members = schema.TryGetProperty("properties", out var properties) ? properties.EnumerateObject().ToDictionary(one => one.Name, one => one.Value) : [];
        if (schema.TryGetProperty("required", out var required))
        {
            foreach (var name in required.EnumerateArray().Select(one => one.GetString()!).Where(name => !value.TryGetProperty(name, out _))) { faults.Add($"{at}.{name} is missing"); }
        }

        foreach (var member in value.EnumerateObject())
        {
            if (members.TryGetValue(member.Name, out var shape)) { Hold(shape, member.Value, $"{at}.{member.Name}", faults); }
            else if (schema.TryGetProperty("additionalProperties", out var more) && more.ValueKind == JsonValueKind.Object) { Hold(more, member.Value, $"{at}.{member.Name}", faults); }
            else if (schema.TryGetProperty("additionalProperties", out more) && more.ValueKind == JsonValueKind.False) { faults.Add($"{at}.{member.Name} is not described"); }
        }
    }

    private static void HoldText(JsonElement schema, string text, string at, List<string> faults)
    {
        if (schema.TryGetProperty("pattern", out var pattern) && !Regex.IsMatch(text, pattern.GetString()!)) { faults.Add($"{at} is {text} and not like {pattern}"); }
        if (schema.TryGetProperty("enum", out var words) && !words.EnumerateArray().Any(word => word.GetString() == text)) { faults.Add($"{at} is {text} and none of {words}"); }
        if (!schema.TryGetProperty("format", out var format)) { return; }
        var fits = format.GetString() switch
        {
            "date" => LocalDatePattern.Iso.Parse(text).Success,
            "date-time" => InstantPattern.ExtendedIso.Parse(text).Success,
            _ => throw new NotSupportedException($"The format {format} is not checked here."),
        };
        if (!fits) { faults.Add($"{at} is {text} and no {format}"); }
    }

    private JsonElement Find(string reference) => reference.Split('/').Skip(1).Aggregate(document, (place, name) => place.GetProperty(name));

    private static bool Is(string type, JsonElement value) => type switch
    {
        "object" => value.ValueKind == JsonValueKind.Object,
        "array" => value.ValueKind == JsonValueKind.Array,
        "string" => value.ValueKind == JsonValueKind.String,
        "integer" => value.ValueKind == JsonValueKind.Number && value.TryGetInt64(out _),
        "boolean" => value.ValueKind is JsonValueKind.True or JsonValueKind.False,
        "null" => value.ValueKind == JsonValueKind.Null,
        _ => throw new NotSupportedException($"The type {type} is not checked here."),
    };
}
