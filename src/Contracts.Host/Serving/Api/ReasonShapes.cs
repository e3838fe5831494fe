using Microsoft.OpenApi;
using static Contracts.Host.Serving.Api.Shapes;

namespace Contracts.Host.Serving.Api;

/// <summary>The shapes of answers that give reasons: trees, comparisons, proposals.</summary>
internal static class ReasonShapes
{
    /// <summary>A figure as a tree; its parts are nodes like it.</summary>
    public static OpenApiSchema Explanation() => Closed(
        "A figure, or a number behind one, with the rule that made it and the parts it was made of (docs/explain.md).",
        ("figure", Text()), ("value", Text("Dollars with two decimals, a rate, a count, or an exact number.")),
        ("rule", Text("How the parts combine, in words and with the numbers.")),
        ("citation", Text("The rule of docs/money.md, or the section of the law pack.")), ("event", OrNull(Event())),
        ("parts", List(Open(
            "A node like this one.", ("figure", Text()), ("value", Text()), ("rule", Text()), ("citation", Text()), ("event", OrNull(Event())),
            ("parts", List(Open("A node like this one.", ("figure", Text()), ("value", Text()))))))));

    /// <summary>Two views and what made them differ.</summary>
    public static OpenApiSchema Comparison() => Closed(
        "What differs between two views of one account; the steps of a figure add up to its difference (docs/explain.md).",
        ("contract", Text()), ("on", Day()), ("known", Moment()), ("withOn", Day()), ("withKnown", Moment()),
        ("figures", List(Closed(
            null, ("figure", Text()), ("from", Number()), ("to", Number()), ("difference", Number()),
            ("because", List(Closed(
                null, ("amount", Number()), ("by", OneOf("time", "knowledge", "both")),
                ("on", OrNull(Day())), ("says", Text()), ("backdated", Flag()), ("event", OrNull(Event())))))))),
        ("words", List(Closed(null, ("figure", Text()), ("from", OrNull(Text())), ("to", OrNull(Text()))))));

    /// <summary>One contract over a span of days.</summary>
    public static OpenApiSchema Statement() => Closed(
        "One contract over a span of days; the balance before and the movements make the balance after (docs/interface.md).",
        ("contract", Text()), ("from", Day()), ("through", Day()), ("known", Moment()), ("opening", StatementFigures("At the end of the day before the first.")),
        ("movements", List(Closed(null, MovementMembers("The balance after it.")))),
        ("sums", Closed(
            "What the movements of each kind add to the balance.",
            ("charge", Money()), ("taken-back", Money()), ("payment", Money()), ("reversal", Money()), ("goodwill", Money()), ("refund", Money()))),
        ("closing", StatementFigures("At the end of the last day.")));

    /// <summary>The members of a movement of a statement.</summary>
    internal static (string Name, IOpenApiSchema Shape)[] MovementMembers(string balance) =>
    [
        ("on", Day()), ("kind", OneOf("charge", "taken-back", "payment", "reversal", "goodwill", "refund")), ("says", Text()),
        ("id", Text("The id of the charge, or the key of the fact.")), ("event?", Count("The event's number in the store's order; missing for what a day brought by itself.")),
        ("amount", Money("What it added to the balance.")), ("balance", Money(balance)),
    ];

    /// <summary>The figures at one end of a statement.</summary>
    internal static OpenApiSchema StatementFigures(string says) => Closed(
        says, ("balance", Money("What is past due, less money and goodwill that wait.")), ("pastDue", Money()), ("unappliedCredit", Money()),
        ("goodwillCredit", Money()), ("equity", Money()), ("remainingToOwn", Money("Zero before a signing too.")));

    /// <summary>What one person proposed and another decided on.</summary>
    public static OpenApiSchema Proposal() => Closed(
        "A change that takes two persons (docs/sign-in.md).",
        ("proposal", Text()), ("contract?", Text("Missing for the close of a month.")),
        ("change", Open("The command as it was written, without key, actor and moment.", ("do", Text()))),
        ("by", Text("Who proposed it.")), ("reason?", Text()), ("proposedAt", Moment()), ("status", OneOf("open", "approved", "declined")),
        ("decidedBy?", Text()), ("decidedAt?", Moment()),
        ("decidedBecause?", Text()));

    /// <summary>An event as it lies in the store.</summary>
    public static OpenApiSchema StoredEvent() => Closed(
        "An event as it is stored; its data have members of their own by its name (fixtures/events).",
        ("sequence", Count()), ("recordedAt", Moment()), ("event", Match("^[a-z_]+$", "Its stored name.")), ("key", Text()), ("by?", Text()), ("reason?", Text()),
        ("cause?", Text()), ("approvedBy?", Text()),
        ("trace?", Match("^[0-9a-f]{32}$", "The W3C trace id of the request that wrote it, where it came over HTTP.")), ("data", Open("The event's own members.", ("on", Day()))));

    /// <summary>What a command would do.</summary>
    public static OpenApiSchema Preview() => Closed(
        "What a command would do; nothing is recorded.",
        ("contract", Text()), ("do", Text("The command.")), ("on", Day()), ("known", Moment("Decided as if it were given then.")),
        ("events", List(Closed(null, ("on", Day()), ("event", Match("^[a-z_]+$", "Its stored name.")), ("says", Text()), ("money?", Money())))),
        ("figuresOn", Day("The command's day, or the day of the decision where that is later.")),
        ("figures", List(Closed(null, ("figure", Text("By its path, such as paid.rent.")), ("before", Text()), ("after", Text())), "Those that would be otherwise.")));

    internal static OpenApiSchema Event() => Closed(null, ("sequence", Count()), ("on", Day()), ("recordedAt", Moment()), ("key", Text()));

    /// <summary>Dollars and cents as text, or a count.</summary>
    internal static OpenApiSchema Number() => new()
    {
        Type = JsonSchemaType.String | JsonSchemaType.Integer, Pattern = @"^-?\d+\.\d{2}$", Description = "Dollars and cents as text, or a count.",
    };
}
