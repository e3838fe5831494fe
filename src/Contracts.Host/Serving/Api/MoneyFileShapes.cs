using Microsoft.OpenApi;
using static Contracts.Host.Serving.Api.Shapes;

namespace Contracts.Host.Serving.Api;

/// <summary>The shapes of answers about money files.</summary>
internal static class MoneyFileShapes
{
    /// <summary>What became of a file that was sent.</summary>
    public static OpenApiSchema Read() => Closed(
        "What became of a money file (docs/money-files.md).",
        ("file", Digest()), ("name", Text()), ("form", Text("camt.053.001.08 or another message, or csv and the name of the mapping.")), ("statements", List(Statement())),
        ("matched", Count()), ("proposed", Count()), ("unmatched", Count()), ("already", Count("Lines that were known from an earlier file, or from this one.")),
        ("notBooked", Count("Lines that the bank has not booked yet; they were left out.")),
        ("refused", List(Closed("A line that could not be used.", ("code", Text()), ("detail", Text()), ("field?", Text())))), ("notListed?", Count()));

    /// <summary>A file that was taken in.</summary>
    public static OpenApiSchema File() => Closed(
        "A money file that was taken in.",
        ("file", Digest()), ("name", Text()), ("form", Text()), ("receivedAt", Moment()), ("by?", Text()), ("statements", List(Statement())),
        ("matched", Count()), ("waited", Count()), ("waiting", Count()));

    /// <summary>A line of a file.</summary>
    public static OpenApiSchema Line() => Closed(
        "A line of a money file, and what became of it.",
        ("entry", Match("^B-[0-9A-F]{20}$")), ("status", OneOf("matched", "proposed", "unmatched", "settled", "set-aside")), ("bookedOn", Day()), ("valueOn?", Day()),
        ("direction", OneOf("in", "out")), ("amount", Money()), ("gross?", Money()), ("fee?", Money()), ("method", Text()), ("reference?", Text()), ("returnCode?", Text()),
        ("text?", Text("What was written with it, while it waits.")), ("because", Text()), ("remark?", Text()),
        ("shares", List(Closed(null, ("contract", Text()), ("amount", Money())))), ("payments", List(Text())),
        ("candidates", List(Closed(null, ("contract", Text()), ("payment?", Text()), ("why", Text())))),
        ("file", Digest()), ("place", Text()), ("recordedAt", Moment()), ("decidedBy?", Text()), ("decidedAt?", Moment()));

    private static OpenApiSchema Statement() => Closed(
        null, ("statement", Text()), ("account", Text("Its last four characters.")), ("opening?", Money()), ("closing?", Money()), ("lines", Count()), ("in", Money()),
            ("out", Money()));
}
