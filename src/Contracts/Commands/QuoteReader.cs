using System.Text.Json;
using Contracts.Agreements;

namespace Contracts.Commands;

/// <summary>
/// Reads what a quote is asked for: a file with one JSON object (docs/quotes.md), or the fields of a <c>quote</c> line. Refused in
/// the command reader's words.
/// </summary>
public static class QuoteReader
{
    /// <summary>Reads a file; exactly one of the two answers is given.</summary>
    public static (Offer? Offer, Refusal? Refusal) Read(ReadOnlyMemory<byte> file)
    {
        if (file.Span.StartsWith("\uFEFF"u8)) { file = file[3..]; }
        return CommandReader.Reading(file, root => Offer(new Fields(root, "")));
    }

    internal static Offer Offer(Fields fields) => new(
        fields.OptionalText("household"),
        fields.OptionalObject("instrument") is { } unit ? TermsReader.Instrument(unit) : null,
        fields.Text("state"), fields.Text("jurisdiction"), fields.Date("startOn"), TermsReader.Terms(fields.Object("terms")),
        TermsReader.Accessories(fields), fields.OptionalFlag("planElected"))
    {
        StartsAtDelivery = fields.OptionalFlag("startsAtDelivery"),
    };
}
