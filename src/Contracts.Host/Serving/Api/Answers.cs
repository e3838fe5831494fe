using Contracts.Agreements;
using Contracts.Host.Terminal;

namespace Contracts.Host.Serving.Api;

/// <summary>Answers in the shapes of the command line.</summary>
internal static class Answers
{
    public const string ProblemType = "application/problem+json";

    /// <summary>Where this host explains its codes; the type of every problem begins with it.</summary>
    public const string ProblemPlace = "/problems/";

    /// <summary>The very bytes that <c>--format json</c> prints, its line's end included.</summary>
    public static IResult Json(string json) => Results.Text(json + "\n", "application/json");

    /// <summary>A refusal of the rules as a problem.</summary>
    public static IResult Refused(Refusal refusal) =>
        Results.Text(Problem.Json(refusal, ProblemPlace) + "\n", ProblemType, null, Problem.Status(refusal.Code));
}
