using System.Collections.Immutable;
using System.Text.Json.Serialization;
using Contracts.Agreements;
using Contracts.Instruments;
using Contracts.Terms;
using NodaTime;

namespace Contracts.Store.Quotes;

/// <summary>A quote was given to a family. Stored for ever: add fields, never rename or remove. Who gave it is a header like every actor.</summary>
/// <param name="Quote">Its name.</param>
/// <param name="On">The day it was given.</param>
/// <param name="Household">Who asked.</param>
/// <param name="Instrument">The unit, where the quote was for one.</param>
/// <param name="State">The state whose act applies.</param>
/// <param name="Jurisdiction">Whose tax rates apply.</param>
/// <param name="StartOn">The first day of the rental.</param>
/// <param name="Terms">The terms.</param>
/// <param name="Accessories">What would be bought with the signing.</param>
/// <param name="WithPlan">Whether the plan is elected.</param>
/// <param name="ValidThrough">The last day on which a signing may name it.</param>
/// <param name="Digest">SHA-256 of the quote as JSON, in lower-case hex.</param>
/// <param name="Form">Which form of the JSON the digest is of.</param>
/// <param name="LawPack">The law pack it was held against; left out where none was loaded.</param>
public sealed record QuoteGiven(
    string Quote, LocalDate On, string Household, Instrument? Instrument, string State, string Jurisdiction, LocalDate StartOn,
    ContractTerms Terms, ImmutableArray<Accessory> Accessories, bool WithPlan, LocalDate ValidThrough, string Digest, int Form,
    string? LawPack = null)
{
    /// <summary>Whether the rental would begin with the delivery; left out where it would not.</summary>
    [JsonIgnore(Condition = JsonIgnoreCondition.WhenWritingDefault)]
    public bool StartsAtDelivery { get; init; }

    private const string Prefix = "quote:";

    /// <summary>The stream of a quote; no contract id has a colon.</summary>
    public static string StreamOf(string quote) => Prefix + quote;

    /// <summary>The event of a quote that was accepted.</summary>
    public static QuoteGiven Of(Command.GiveQuote given, string? lawPack, string digest, int form)
    {
        var offer = given.Offer;
        return new QuoteGiven(
            given.Quote, given.On, offer.Household ?? throw new StoreException($"The quote {given.Quote} names no household."), offer.Instrument,
            offer.State, offer.Jurisdiction, offer.StartOn, offer.Terms, offer.Accessories, offer.WithPlan, given.ValidThrough, digest, form, lawPack)
        {
            StartsAtDelivery = offer.StartsAtDelivery,
        };
    }

    /// <summary>The quote as a decision meets it.</summary>
    public GivenQuote ToGiven() => new(
        Quote, new Offer(Household, Instrument, State, Jurisdiction, StartOn, Terms, Accessories, WithPlan, LawPack) { StartsAtDelivery = StartsAtDelivery }, ValidThrough);
}
