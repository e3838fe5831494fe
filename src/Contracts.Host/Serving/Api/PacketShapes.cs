using Microsoft.OpenApi;
using static Contracts.Host.Serving.Api.Shapes;

namespace Contracts.Host.Serving.Api;

/// <summary>The shape of a closed month's packet: a document of reports, each with columns of its own.</summary>
internal static class PacketShapes
{
    public static OpenApiSchema Packet() => Closed(
        "The packet of a closed month (docs/accounting.md).",
        ("month", Match(@"^\d{4}-\d{2}$")), ("known", Moment()), ("throughSequence", Count()), ("title", Text()),
        ("checks", List(Closed(null, ("name", Text()), ("passed", Flag()), ("detail", Text())))),
        ("reports", List(Report())));

    /// <summary>What the close of a month would check.</summary>
    public static OpenApiSchema Readiness() => Closed(
        "Whether a month can be closed, as the books stand now.",
        ("month", Match(@"^\d{4}-\d{2}$")), ("ready", Flag("Whether every check holds.")),
        ("checks", List(Closed(null, ("name", Text()), ("passed", Flag()), ("detail", Text())))));

    private static OpenApiSchema Report() => Closed(
        null, ("id", Text()), ("title", Text()), ("note", OrNull(Text())),
        ("columns", List(Closed(null, ("id", Text()), ("title", Text()), ("kind", OneOf("text", "date", "count", "money"))))),
        ("rows", List(Closed(
            null, ("kind", OneOf("line", "subtotal", "total")),
            ("cells", Map(
                new OpenApiSchema { Type = JsonSchemaType.String | JsonSchemaType.Integer | JsonSchemaType.Null },
                "By the id of the column: an amount or a day or words as text, a count as a number, null where it is empty.")),
            ("evidence", OrNull(Text("What finds the postings behind the row.")))))));
}

/// <summary>The shape of a quote.</summary>
internal static class QuoteShapes
{
    public static OpenApiSchema Quote() => Closed(
        "What an offer costs (docs/quotes.md). Not a disclosure.",
        ("installments", List(Closed(null, ("dueOn", Day()), ("rent", Money()), ("plan", Money()), ("tax", Money())))), ("totalCost", Money()), ("costOfRental", Money()),
        ("months", List(Closed(
            "At the end of a due date.",
            ("on", Day()), ("paidSoFar", Money()), ("equity", Money()), ("priceToOwn", Money()), ("basis", Text()), ("totalIfBought", Money()), ("priceTax", Money()),
            ("costIfReturned", Money()), ("refundIfReturned", Money())))),
        ("violations", List(Closed(null, ("rule", Text()), ("citation", Text()), ("detail", Text())))), ("unchecked", List(Text())), ("lawPack", OrNull(Text())),
        ("state", Text()), ("jurisdiction", Text()), ("startOn", Day()), ("planElected", Flag()),
        ("instrument?", Closed(null, ("kind", Text()), ("serial", Text()), ("condition?", Text()))), ("accessories", Sale()), ("outright", Sale()),
        ("totalOutright", Money()), ("totalToTerm", Money()), ("caution", Text()));

    private static OpenApiSchema Sale() => Closed(null, ("price", Money()), ("tax", Money()), ("total", Money()));
}
