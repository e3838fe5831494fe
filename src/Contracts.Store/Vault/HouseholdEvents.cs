using System.Collections.Immutable;
using System.Text.Json.Serialization;

namespace Contracts.Store.Vault;

/// <summary>
/// Something was told of a family. Stored for ever: add fields, never rename or remove. The event holds only digests (RFC 9901,
/// section 4.2.4.1); salts and values are in the vault, so what is recorded stays as it is when they are destroyed.
/// </summary>
/// <param name="Household">The household's reference, which must not be a name.</param>
/// <param name="Digests">The digests of the salted facts, in their own order, which says nothing of the facts'.</param>
public sealed record HouseholdDescribed(string Household, [property: JsonPropertyName("_sd")] ImmutableArray<string> Digests);

/// <summary>What the vault had of a family was destroyed. Who did it and why are headers like every actor and reason.</summary>
/// <param name="Household">The household's reference.</param>
public sealed record HouseholdErased(string Household);

/// <summary>The streams of households.</summary>
internal static class HouseholdStreams
{
    private const string Prefix = "household:";

    /// <summary>The stream of a household; no contract id has a colon.</summary>
    public static string Of(string household) => Prefix + household;
}
