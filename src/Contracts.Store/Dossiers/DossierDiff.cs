using System.Text.Json;
using Contracts.Seals;

namespace Contracts.Store.Dossiers;

/// <summary>Which figures differ between what was known then and what is best known now.</summary>
internal static class DossierDiff
{
    /// <summary>As canonical JSON: each figure that differs by its path, then and now.</summary>
    public static byte[] Json(byte[] then, byte[] now)
    {
        var (before, after) = (Flat(then), Flat(now));
        var buffer = new System.Buffers.ArrayBufferWriter<byte>(512);
        using (var json = new Utf8JsonWriter(buffer))
        {
            json.WriteStartObject();
            foreach (var name in before.Keys.Union(after.Keys, StringComparer.Ordinal))
            {
                var (was, became) = (before.GetValueOrDefault(name), after.GetValueOrDefault(name));
                if (was == became) { continue; }
                json.WriteStartObject(name);
                json.WriteString("asKnownThen", was);
                json.WriteString("bestKnown", became);
                json.WriteEndObject();
            }

            json.WriteEndObject();
        }

        return CanonicalJson.Restricted(buffer.WrittenSpan).Value;
    }

    /// <summary>Every value of a JSON object by its path.</summary>
    public static SortedDictionary<string, string> Flat(byte[] bytes)
    {
        var values = new SortedDictionary<string, string>(StringComparer.Ordinal);
        using var json = JsonDocument.Parse(bytes);
        Walk(json.RootElement, "");
        return values;

        void Walk(JsonElement element, string path)
        {
            switch (element.ValueKind)
            {
                case JsonValueKind.Object:
                    foreach (var member in element.EnumerateObject()) { Walk(member.Value, path.Length == 0 ? member.Name : $"{path}.{member.Name}"); }
                    break;
                case JsonValueKind.Array:
                    var index = 0;
                    foreach (var item in element.EnumerateArray()) { Walk(item, $"{path}[{index++}]"); }
                    break;
                default: values[path] = element.ToString(); break;
            }
        }
    }
}
