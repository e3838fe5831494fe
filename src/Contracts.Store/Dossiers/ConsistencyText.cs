using System.Globalization;
using System.Text;
using Contracts.Seals;

namespace Contracts.Store.Dossiers;

/// <summary>
/// A proof of consistency as text: a header, the two sizes, a hash a line in base64. C2SP has a text form for inclusion only;
/// this one follows it.
/// </summary>
public static class ConsistencyText
{
    private const string Header = "contracts/consistency@v1";

    /// <summary>More hashes no proof has: no tree of 2^63 leaves is higher.</summary>
    private const int MostHashes = 64;

    /// <summary>Writes a proof.</summary>
    public static byte[] Write(ConsistencyProof proof)
    {
        var text = new StringBuilder(Header).Append(CultureInfo.InvariantCulture, $"\nfrom {proof.OldSize}\nto {proof.NewSize}\n");
        foreach (var hash in proof.Path) { text.Append(hash.ToBase64()).Append('\n'); }
        return Encoding.UTF8.GetBytes(text.ToString());
    }

    /// <summary>Reads a proof in its only spelling, or answers null.</summary>
    public static ConsistencyProof? Read(byte[] bytes)
    {
        var lines = Encoding.UTF8.GetString(bytes).Split('\n');
        if (lines.Length is < 4 or > MostHashes + 4 || lines[^1].Length > 0 || lines[0] != Header) { return null; }
        if (Size(lines[1], "from ") is not { } oldSize || Size(lines[2], "to ") is not { } newSize) { return null; }
        var path = new List<Digest>();
        foreach (var line in lines[3..^1])
        {
            if (!Digest.TryParseBase64(line, out var hash)) { return null; }
            path.Add(hash);
        }

        var proof = new ConsistencyProof(oldSize, newSize, path);
        return Write(proof).AsSpan().SequenceEqual(bytes) ? proof : null;
    }

    private static long? Size(string line, string name) => line.StartsWith(name, StringComparison.Ordinal) ? Checkpoint.Decimal(line[name.Length..]) : null;
}
