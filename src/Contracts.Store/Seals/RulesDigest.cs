using System.Text.Json;
using Contracts.Law;
using Contracts.Seals;

namespace Contracts.Store.Seals;

/// <summary>One digest for the rules that a store works with: the program's version and every law pack by its digest.</summary>
public static class RulesDigest
{
    /// <summary>SHA-256 of the canonical JSON of <c>{"build":…,"packs":{"HI.1":digest,…}}</c>.</summary>
    public static Digest Of(string build, LawBook law)
    {
        var packs = new SortedDictionary<string, string>(StringComparer.Ordinal);
        foreach (var jurisdiction in LawBook.Jurisdictions)
        {
            foreach (var pack in law.Adopted(jurisdiction).Select(adopted => adopted.Pack).Append(LawBook.SuppliedFor(jurisdiction)))
            {
                if (pack is not null) { packs[pack.Reference] = pack.Digest; }
            }
        }

        using var buffer = new MemoryStream();
        using (var json = new Utf8JsonWriter(buffer))
        {
            json.WriteStartObject();
            json.WriteString("build", build);
            json.WriteStartObject("packs");
            foreach (var (reference, digest) in packs) { json.WriteString(reference, digest); }
            json.WriteEndObject();
            json.WriteEndObject();
        }

        return CanonicalJson.RestrictedDigest(buffer.ToArray()).Value;
    }
}
