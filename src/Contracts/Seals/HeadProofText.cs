using System.Globalization;
using System.Runtime.InteropServices;
using System.Text.Json;

namespace Contracts.Seals;

/// <summary>A proof of a head as canonical JSON, the form in which a dossier carries it.</summary>
public static class HeadProofText
{
    private const string Kind = "head-proof";
    private const int MostHashes = 63;

    /// <summary>The proof: after, before, count, found, kind and version, heads as they are hashed.</summary>
    public static byte[] Write(HeadProof proof)
    {
        var writer = new CanonicalWriter(1024);
        writer.Raw((byte)'{');
        Place(writer, "after", proof.After);
        Place(writer, "before", proof.Before);
        writer.Member("count", proof.Count.ToString(CultureInfo.InvariantCulture));
        Place(writer, "found", proof.Found);
        writer.Member("kind", Kind);
        writer.Member("v", LogEntry.Version);
        writer.Raw((byte)'}');
        return writer.ToBytes();
    }

    /// <summary>Reads a proof, byte for byte as <see cref="Write"/> writes it.</summary>
    public static Parsed<HeadProof> Parse(ReadOnlySpan<byte> bytes)
    {
        if (CanonicalJson.Check(bytes) is { } fault) { return fault; }
        using var json = JsonDocument.Parse(bytes.ToArray());
        var root = json.RootElement;
        if (Text(root, "kind") != Kind || Checkpoint.Decimal(Text(root, "count") ?? "") is not { } count) { return Malformed(); }
        var places = new PlacedHead?[3];
        foreach (var (name, index) in new[] { ("found", 0), ("before", 1), ("after", 2) })
        {
            if (!root.TryGetProperty(name, out var place)) { return Malformed(); }
            if (place.ValueKind == JsonValueKind.Null) { continue; }
            if (!Placed(place).TryGet(out var placed, out fault)) { return fault; }
            places[index] = placed;
        }

        var proof = new HeadProof(count, places[0], places[1], places[2]);
        return bytes.SequenceEqual(Write(proof)) ? proof : Malformed();
    }

    private static void Place(CanonicalWriter writer, string name, PlacedHead? place)
    {
        writer.Name(name);
        if (place is null)
        {
            writer.Raw("null"u8);
            return;
        }

        writer.Raw((byte)'{');
        writer.Name("head");
        writer.Raw(place.Head.ToBytes());
        writer.Member("index", place.Index.ToString(CultureInfo.InvariantCulture));
        writer.Name("path");
        writer.Raw((byte)'[');
        for (var index = 0; index < place.Path.Count; index++)
        {
            if (index > 0) { writer.Raw((byte)','); }
            writer.Text(place.Path[index].ToString());
        }

        writer.Raw("]}"u8);
    }

    private static Parsed<PlacedHead> Placed(JsonElement place)
    {
        if (place.ValueKind != JsonValueKind.Object || Checkpoint.Decimal(Text(place, "index") ?? "") is not { } index
            || !place.TryGetProperty("head", out var head) || !place.TryGetProperty("path", out var steps)
            || steps.ValueKind != JsonValueKind.Array || steps.GetArrayLength() > MostHashes)
        {
            return Malformed();
        }

        if (!LogEntry.Parse<HeadEntry>(JsonMarshal.GetRawUtf8Value(head)).TryGet(out var entry, out var fault)) { return fault; }
        var path = new List<Digest>();
        foreach (var step in steps.EnumerateArray())
        {
            if (step.ValueKind != JsonValueKind.String || !Digest.TryParseHex(step.GetString(), out var hash)) { return Malformed(); }
            path.Add(hash);
        }

        return new PlacedHead(entry, index, path);
    }

    private static string? Text(JsonElement element, string name) =>
        element.ValueKind == JsonValueKind.Object && element.TryGetProperty(name, out var value) && value.ValueKind == JsonValueKind.String
            ? value.GetString()
            : null;

    private static SealFault Malformed() => new(SealFaultKind.ProofMalformed, "A proof of a head has count, found, before and after, in canonical JSON.");
}
