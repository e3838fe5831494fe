using System.Reflection;
using System.Security.Cryptography;
using System.Text;
using Contracts.Agreements;
using Contracts.History;
using Contracts.Papers;
using Contracts.Store.Json;
using Contracts.Terms;
using NodaTime.Text;

namespace Contracts.Store.Papers;

/// <summary>The stored facts behind a paper as one digest, so that it can be told whether they are what they were.</summary>
internal static class StoredFacts
{
    /// <summary>The version of the rules, as the build names it.</summary>
    private static readonly string Rules = typeof(Paper).Assembly.GetCustomAttribute<AssemblyInformationalVersionAttribute>()?.InformationalVersion ?? "unknown";

    /// <summary>A desk that makes papers from stored facts.</summary>
    public static PaperDesk Desk(Press press) => new(press, Digest, Rules);

    /// <summary>
    /// SHA-256 over each fact with its place, moment, key and stored JSON, and over every rate of the jurisdictions it was under,
    /// one a line. Notes are left out: they move no figure.
    /// </summary>
    public static string Digest(ContractHistory history, ReferenceData rates)
    {
        using var hash = IncrementalHash.CreateHash(HashAlgorithmName.SHA256);
        var jurisdictions = new SortedSet<string>(StringComparer.Ordinal);
        foreach (var entry in history.Entries)
        {
            if (entry.Event.IsNote) { continue; }
            Line($"{entry.Sequence} {InstantPattern.ExtendedIso.Format(entry.At)} {entry.Key} {EventNames.Of(entry.Event)} ", EventJson.Write(entry.Event));
            if (entry.Event is ContractEvent.Signed signed) { jurisdictions.Add(signed.Jurisdiction); }
            if (entry.Event is ContractEvent.Moved moved) { jurisdictions.Add(moved.Jurisdiction); }
        }

        foreach (var jurisdiction in jurisdictions)
        {
            foreach (var rate in rates.Of(jurisdiction)) { Line("", EventJson.Write(TaxRateSet.Of(jurisdiction, rate))); }
        }

        return Convert.ToHexStringLower(hash.GetHashAndReset());

        void Line(string head, byte[] json)
        {
            hash.AppendData(Encoding.UTF8.GetBytes(head));
            hash.AppendData(json);
            hash.AppendData("\n"u8);
        }
    }
}
