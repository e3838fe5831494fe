namespace Contracts.Host.Terminal;

/// <summary>What the process answers to the shell.</summary>
public static class ExitCodes
{
    public const int Done = 0;

    /// <summary>A rule refused the request; standard error says which.</summary>
    public const int Refused = 1;

    public const int WrongUsage = 2;

    /// <summary>The store or a file failed, or a check found a fault.</summary>
    public const int Failed = 3;
}
