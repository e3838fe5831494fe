using System.Collections.Frozen;
using System.Text.Json;
using System.Text.Json.Serialization.Metadata;
using NodaTime;
using NodaTime.Serialization.SystemTextJson;

namespace Contracts.Store.Json;

/// <summary>Reads and writes events by their stored names; the one place where bytes become facts.</summary>
internal static class EventJson
{
    private static readonly FrozenDictionary<string, JsonTypeInfo> ByName = EventNames.All.ToFrozenDictionary(
        pair => pair.Name,
        pair => EventJsonContext.Default.GetTypeInfo(pair.Type) ?? throw new StoreException($"{pair.Type.Name} has no JSON shape."));

    /// <summary>The options that Marten serialises with: the generated shapes, and NodaTime for all else.</summary>
    public static JsonSerializerOptions MartenOptions()
    {
        var options = new JsonSerializerOptions(EventJsonContext.Default.Options)
        {
            TypeInfoResolver = JsonTypeInfoResolver.Combine(EventJsonContext.Default, new DefaultJsonTypeInfoResolver()),
        };
        return options.ConfigureForNodaTime(DateTimeZoneProviders.Tzdb);
    }

    public static object Read(string name, ReadOnlySpan<byte> json)
    {
        if (!ByName.TryGetValue(name, out var shape)) { throw new StoreException($"No event is stored as '{name}'; a newer version wrote it?"); }
        try
        {
            return JsonSerializer.Deserialize(json, shape)!;
        }
        catch (JsonException fault)
        {
            throw new StoreException($"A stored '{name}' cannot be read.", fault);
        }
    }
}
