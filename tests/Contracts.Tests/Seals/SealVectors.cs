using System.Text;
using System.Text.Json.Nodes;
using Contracts.Seals;
using Contracts.Tests.House;

namespace Contracts.Tests.Seals;

/// <summary>The vectors of fixtures/published/seal-vectors.json; each group there names its source.</summary>
internal static class SealVectors
{
    public static JsonObject All { get; } = (JsonObject)JsonNode.Parse(
        File.ReadAllText(System.IO.Path.Combine(Repository.Root, "fixtures", "published", "seal-vectors.json")))!;

    public static JsonObject Group(string name) => (JsonObject)All[name]!;

    public static IReadOnlyList<JsonObject> Vectors(string group) => [.. ((JsonArray)Group(group)["vectors"]!).Select(item => (JsonObject)item!)];

    public static string Text(JsonNode node, string name) => (string)node[name]!;

    public static byte[] Hex(JsonNode node, string name) => Convert.FromHexString((string)node[name]!);

    public static byte[] Hex(JsonNode node) => Convert.FromHexString((string)node!);

    public static IReadOnlyList<string> Texts(JsonNode node, string name) => [.. ((JsonArray)node[name]!).Select(item => (string)item!)];

    /// <summary>The hashes of a proof, or null where one of them is not 32 bytes, which no proof of ours can hold.</summary>
    public static IReadOnlyList<Digest>? Path(JsonNode node)
    {
        var hashes = Texts(node, "proof_hex");
        return hashes.All(hash => hash.Length == 64) ? [.. hashes.Select(Digest.Parse)] : null;
    }

    public static byte[] Utf8(string text) => Encoding.UTF8.GetBytes(text);

    /// <summary>How many times a random test tries, unless the environment says another number.</summary>
    public static int Tries(string variable, int usual) =>
        int.TryParse(Environment.GetEnvironmentVariable(variable), out var tries) ? tries : usual;
}
