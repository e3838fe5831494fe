Console.Error.WriteLine("usage: contracts");return 2;
