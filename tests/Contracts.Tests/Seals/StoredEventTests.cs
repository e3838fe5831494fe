using System.Text;
using System.Text.Json;
using Contracts.Seals;
using Contracts.Tests.House;
using Xunit;

namespace Contracts.Tests.Seals;

/// <summary>Stored events stay in the restricted model, so that what is hashed is the same before and after the database.</summary>
public sealed class StoredEventTests
{
    private static readonly JsonSerializerOptions Plain = new() { Encoder = System.Text.Encodings.Web.JavaScriptEncoder.UnsafeRelaxedJsonEscaping };

    public static TheoryData<string> Frozen =>
        [.. Directory.EnumerateFiles(Path.Combine(Repository.Root, "fixtures", "events")).Select(file => Path.GetFileName(file)).Order(StringComparer.Ordinal)];

    [Theory]
    [MemberData(nameof(Frozen))]
    public void Every_event_ever_stored_has_one_digest_before_and_after_the_database(string file)
    {
        var stored = File.ReadAllBytes(Path.Combine(Repository.Root, "fixtures", "events", file));
        var digest = CanonicalJson.RestrictedDigest(stored);
        Assert.True(digest.IsGood, $"{file}: {digest.Fault}");
        using var json = JsonDocument.Parse(stored);
        var text = new StringBuilder();
        AsTheDatabase(json.RootElement, text);
        Assert.Equal(digest.Value, CanonicalJson.RestrictedDigest(Encoding.UTF8.GetBytes(text.ToString())).Value);
    }

    /// <summary>JSON as jsonb gives it back: names by length and then bytes, spaces behind colons and commas, no escapes for letters.</summary>
    private static void AsTheDatabase(JsonElement element, StringBuilder text)
    {
        switch (element.ValueKind)
        {
            case JsonValueKind.Object:
                var members = element.EnumerateObject().OrderBy(member => Encoding.UTF8.GetByteCount(member.Name)).ThenBy(member => member.Name, StringComparer.Ordinal);
                text.Append('{');
                foreach (var member in members)
                {
                    text.Append(text[^1] == '{' ? "" : ", ").Append(JsonSerializer.Serialize(member.Name)).Append(": ");
                    AsTheDatabase(member.Value, text);
                }

                text.Append('}');
                break;
            case JsonValueKind.Array:
                text.Append('[');
                foreach (var item in element.EnumerateArray())
                {
                    text.Append(text[^1] == '[' ? "" : ", ");
                    AsTheDatabase(item, text);
                }

                text.Append(']');
                break;
            case JsonValueKind.String:
                text.Append(JsonSerializer.Serialize(element.GetString(), Plain));
                break;
            default:
                text.Append(element.GetRawText());
                break;
        }
    }
}
