using System.Collections.Frozen;
using System.Text;
using System.Text.Json;
using System.Text.Json.Serialization.Metadata;
using NodaTime;
using NodaTime.Serialization.SystemTextJson;

namespace Contracts.Store.Json;

/// <summary>Reads and writes events by their stored names; the one place where bytes become facts.</summary>
public static class EventJson
{
    private const int LongestName = 64;

    private static readonly FrozenDictionary<string, JsonTypeInfo> ByName = EventNames.All.ToFrozenDictionary(
        pair => pair.Name,
        pair => EventJsonContext.Default.GetTypeInfo(pair.Type) ?? throw new StoreException($"{pair.Type.Name} has no JSON shape."));

    private static readonly FrozenDictionary<string, JsonTypeInfo>.AlternateLookup<ReadOnlySpan<char>> ByText =
        ByName.GetAlternateLookup<ReadOnlySpan<char>>();

    /// <summary>The options that Marten serialises with: the generated shapes, and NodaTime for all else.</summary>
    internal static JsonSerializerOptions MartenOptions()
    {
        var options = new JsonSerializerOptions(EventJsonContext.Default.Options)
        {
            TypeInfoResolver = JsonTypeInfoResolver.Combine(EventJsonContext.Default, new DefaultJsonTypeInfoResolver()),
        };
        return options.ConfigureForNodaTime(DateTimeZoneProviders.Tzdb);
    }

    /// <summary>An event as it is stored: compact, camel case, amounts and rates as strings, what is null left out.</summary>
    public static byte[] Write(object fact) =>
        JsonSerializer.SerializeToUtf8Bytes(fact, ByName[EventNames.Of(fact.GetType())]);

    /// <summary>The same into a writer.</summary>
    internal static void Write(Utf8JsonWriter json, object fact) => JsonSerializer.Serialize(json, fact, ByName[EventNames.Of(fact.GetType())]);

    /// <summary>A writer that writes as <see cref="Write(object)"/> does.</summary>
    internal static Utf8JsonWriter Writer(System.Buffers.IBufferWriter<byte> buffer) =>
        new(buffer, new JsonWriterOptions { Encoder = EventJsonContext.Default.Options.Encoder });

    /// <summary>Reads an event by the name and the JSON that are stored.</summary>
    public static object Read(ReadOnlySpan<byte> name, ReadOnlySpan<byte> json)
    {
        if (FrequentEvents.TryRead(name, json) is { } frequent) { return frequent; }
        Span<char> text = stackalloc char[LongestName];
        if (name.Length > LongestName || !ByText.TryGetValue(text[..Encoding.UTF8.GetChars(name, text)], out var shape))
        {
            throw new StoreException($"No event is stored as '{Encoding.UTF8.GetString(name)}'; did a newer version write it?");
        }

        try
        {
            return JsonSerializer.Deserialize(json, shape)!;
        }
        catch (JsonException fault)
        {
            throw new StoreException($"A stored '{Encoding.UTF8.GetString(name)}' cannot be read.", fault);
        }
    }
}
