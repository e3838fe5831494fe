using Microsoft.OpenApi;
using static Contracts.Host.Serving.Api.Shapes;

namespace Contracts.Host.Serving.Api;

/// <summary>The shape of what would be.</summary>
internal static class WhatIfShape
{
    /// <summary>An account as it is and as it would be (docs/what-if.md).</summary>
    public static OpenApiSchema WhatIf() => Closed(
        "An account as it would be, had one thing of its history been otherwise; nothing is recorded (docs/what-if.md).",
        ("contract", Text()), ("on", Day()), ("known", Moment()), ("supposed", Text("The change in trade words.")), ("figures", Figures()), ("words", Words()),
        ("departure", OrNull(Closed(
            "The first day at whose end the two part.", ("on", Day()), ("says", Text()), ("event", OrNull(Event())), ("figures", Figures()), ("words", Words())))),
        ("charges", List(Closed(
            null, ("id", Text()), ("on", Day()), ("how", OneOf("comes", "goes", "changes")), ("before", OrNull(Money())), ("after", OrNull(Money()))))),
        ("facts", List(Closed(
            null, ("event", OrNull(Event())), ("says", Text()), ("stands", OneOf("would-be-refused", "falls-away", "overtaken", "takes-effect")), ("refusal", OrNull(Refusal()))))),
        ("corrections", OrNull(Closed(
            "The smallest list of commands that brings the real account there today, or the nearest; null where an earlier knowledge is asked about.",
            ("reaches", Flag()), ("commands", List(Line())), ("left", Figures()), ("leftWords", Words()),
            ("refused", List(Closed(null, ("command", Line()), ("refusal", OrNull(Refusal())))))))));

    private static OpenApiSchema Figures() =>
        List(Closed(null, ("figure", Text()), ("before", ReasonShapes.Number()), ("after", ReasonShapes.Number()), ("difference", ReasonShapes.Number())));

    private static OpenApiSchema Words() => List(Closed(null, ("figure", Text()), ("before", OrNull(Text())), ("after", OrNull(Text()))));

    private static OpenApiSchema Line() => Open("A line of a command file.", ("do", Text()), ("key", Text()), ("contract", Text()), ("on", Day()));

    private static OpenApiSchema Refusal() => Closed(null, ("code", Text()), ("detail", Text()), ("rightFigure", OrNull(Text())), ("citation", OrNull(Text())));

    private static OpenApiSchema Event() => ReasonShapes.Event();
}
