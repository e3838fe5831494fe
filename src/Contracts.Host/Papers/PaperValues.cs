using System.Text.Json;
using Fluid.Values;

namespace Contracts.Host.Papers;

/// <summary>The canonical JSON of a paper as the values a template can ask for, under the names of the JSON.</summary>
public static class PaperValues
{
    /// <summary>The members of the paper.</summary>
    public static IReadOnlyList<KeyValuePair<string, FluidValue>> Read(ReadOnlySpan<byte> paper)
    {
        var reader = new Utf8JsonReader(paper);
        reader.Read();
        return [.. Members(ref reader)];
    }

    private static Dictionary<string, FluidValue> Members(ref Utf8JsonReader reader)
    {
        var members = new Dictionary<string, FluidValue>(StringComparer.Ordinal);
        while (reader.Read() && reader.TokenType == JsonTokenType.PropertyName)
        {
            var name = reader.GetString()!;
            reader.Read();
            members[name] = Value(ref reader);
        }

        return members;
    }

    private static FluidValue Value(ref Utf8JsonReader reader)
    {
        switch (reader.TokenType)
        {
            case JsonTokenType.String: return new StringValue(reader.GetString()!);
            case JsonTokenType.Number: return NumberValue.Create(reader.GetInt32());
            case JsonTokenType.True: return BooleanValue.True;
            case JsonTokenType.False: return BooleanValue.False;
            case JsonTokenType.Null: return Absent.Value;
            case JsonTokenType.StartObject: return new DictionaryValue(new FluidValueDictionaryFluidIndexable(Members(ref reader)));
            case JsonTokenType.StartArray:
                var items = new List<FluidValue>();
                while (reader.Read() && reader.TokenType != JsonTokenType.EndArray) { items.Add(Value(ref reader)); }
                return new ArrayValue(items);
            default: throw new JsonException($"A paper has no {reader.TokenType}.");
        }
    }
}
