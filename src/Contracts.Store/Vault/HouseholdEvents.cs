using System.Collections.Immutable;
using System.Text.Json.Serialization;
using Contracts.Agreements;
using NodaTime;

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

/// <summary>
/// A family paid once for several contracts. It moves no figure: each share is a payment on its contract, under the key that
/// <see cref="Contracts.Households.HouseholdPayment.KeyOf"/> makes. Stored for ever: add fields, never rename or remove.
/// </summary>
/// <param name="Household">The household's reference.</param>
/// <param name="On">The day it was made.</param>
/// <param name="Amount">All of it.</param>
/// <param name="Method">How the money came.</param>
/// <param name="Reference">The receipt's or payment's reference.</param>
/// <param name="Shares">What each contract was paid, in the order of their keys.</param>
public sealed record HouseholdPaid(
    string Household, LocalDate On, Money Amount, string Method, string? Reference, ImmutableArray<EntryShare> Shares);

/// <summary>The streams of households.</summary>
internal static class HouseholdStreams
{
    private const string Prefix = "household:";

    /// <summary>The stream of a household; no contract id has a colon.</summary>
    public static string Of(string household) => Prefix + household;
}
